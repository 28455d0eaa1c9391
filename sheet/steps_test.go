package sheet

import (
	"context"
	"io/fs"
	"path"
	"strings"
	"testing"
	"testing/fstest"

	"brightcut/examples"
	"brightcut/job"
)

// Every value of the sentences and of the sequence's lines names a key that the
// file has, or one in the file of a part; every line of the sequence is told.
func TestEveryFieldIsInTheFile(t *testing.T) {
	files, err := fs.Glob(examples.Workshop, "*.yaml")
	if err != nil || len(files) < 12 {
		t.Fatal(files, err)
	}
	for _, name := range files {
		d, err := job.Open(examples.Workshop, name)
		if err != nil {
			t.Fatal(err)
		}
		j, err := d.Job()
		if err != nil {
			t.Fatal(err)
		}
		l, err := j.Cuts(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		s := New(j, l)
		has := map[string]bool{}
		for _, v := range d.Values(100000) {
			for at := v.Path; ; at = at[:max(strings.LastIndexAny(at, ".["), 0)] {
				has[at] = true
				if at == "" {
					break
				}
			}
		}
		check := func(s Sentence) {
			for _, p := range s {
				_, _, _, inPart := d.Part(p.Field)
				if p.Value && p.Field != "" && !has[p.Field] && !inPart && !strings.HasPrefix(p.Field, "start.") && p.Field != "index_circle" {
					t.Errorf("%s: %q is of %s, which the file does not have", name, p.Text, p.Field)
				}
			}
		}
		for _, p := range s.Setup {
			check(p)
		}
		told := map[string]bool{}
		var walk func([]Step)
		walk = func(steps []Step) {
			for _, one := range steps {
				told[one.Path] = true
				check(one.Sentence)
				if text := one.Sentence.String(); text == "" || one.First == 0 {
					t.Errorf("%s: %s: %q, first cut %d", name, one.Path, text, one.First)
				}
				walk(one.Do)
				for _, c := range one.Choices {
					walk(c)
				}
			}
		}
		walk(s.Steps())
		for at := range has {
			if ok, _ := path.Match(`sequence\[*\]`, at); ok && !strings.Contains(at, ".") && !told[at] {
				t.Errorf("%s: %s is not told", name, at)
			}
		}
	}
}

func TestStepsInWords(t *testing.T) {
	j, err := job.ReadFS(examples.Workshop, "bands.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Cuts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	steps := New(j, l).Steps()
	for at, want := range map[int]string{
		0: "sequence[0] repeat 1: Repeat 34 times:",
		1: "sequence[1] rosette 35: Put on the rosette “Round”.",
		2: "sequence[2] set 35: Bring the slide to 1290 teeth (12.900 mm) and bring the crossing wheel to 0 deg.",
		3: "sequence[3] cut 35: Cut, 80 µm (a groove 0.343 mm wide) deep.",
	} {
		s := steps[at]
		if got := s.Path + " " + s.Motion + " " + whole(s.First) + ": " + s.Sentence.String(); got != want {
			t.Errorf("got  %s\nwant %s", got, want)
		}
	}
	if n := len(steps[0].Do); n != 3 || len(steps[0].Do[2].Choices) != 2 || steps[0].Do[2].Choices[1][0].Path != "sequence[0].do[2].alternate[1]" {
		t.Errorf("the repeat is %+v", steps[0].Do)
	}
}

// A sentence of hundreds of moves, when a sequence moves long before it cuts, is
// built in no more than its length deserves.
func TestManyMovesBeforeOneCut(t *testing.T) {
	text, err := fs.ReadFile(examples.Workshop, "barleycorn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	shop := fstest.MapFS{}
	for _, name := range []string{"engines/long-bench.yaml", "bars/fine-sine.yaml", "cutters/bright-130.yaml", "guides/right-foot.yaml", "metals/sterling.yaml"} {
		part, err := fs.ReadFile(examples.Workshop, name)
		if err != nil {
			t.Fatal(err)
		}
		shop[name] = &fstest.MapFile{Data: part}
	}
	late := strings.Replace(strings.Replace(string(text), "      - cut\n", "", 1), "notes:", "  - cut\nnotes:", 1)
	shop["late.yaml"] = &fstest.MapFile{Data: []byte(late)}
	j, err := job.ReadFS(shop, "late.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Cuts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	s := New(j, l)
	if n := strings.Count(s.Setup[len(s.Setup)-1].String(), "step the cross slide"); n != 159 { // and one with a capital
		t.Errorf("%d steps are told", n)
	}
	s.Steps()
}
