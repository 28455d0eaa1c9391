package bench

import (
	"context"
	"errors"
	"math"
	"strings"
	"testing"
	"testing/fstest"

	"brightcut/engine"
	"brightcut/examples"
	"brightcut/job"
	"brightcut/sheet"
)

// workedOut are the programs that tests have worked out; a plan takes its time.
var workedOut = map[string]*Program{}

func programOf(t testing.TB, name string) *Program {
	t.Helper()
	if workedOut[name] == nil {
		p, err := program(context.Background(), frozen(t, name))
		if err != nil {
			t.Fatal(err)
		}
		workedOut[name] = p
	}
	return workedOut[name]
}

// The words of the count are the sheet's, for every job of the example workshop.
func TestProgramSaysWhatTheSheetSays(t *testing.T) {
	ctx := context.Background()
	for _, name := range []string{"barleycorn", "basket-weave", "bands", "barleycorn-rings", "inch-barleycorn", "lantern-pendant", "pumped-rings", "bowed-dial"} {
		p := programOf(t, name)
		j, err := job.ReadFS(examples.Workshop, name+".yaml")
		if err != nil {
			t.Fatal(err)
		}
		if p.Job.Digest != j.Digest {
			t.Fatalf("%s: the frozen job is another", name)
		}
		list, err := j.Cuts(ctx)
		if err != nil {
			t.Fatal(err)
		}
		s := sheet.New(j, list)
		written := map[int]bool{}
		total := 0.0
		for i := range p.Cuts {
			c := &p.Cuts[i]
			if written[c.Written] || c.Written < 1 || c.Written > len(list.Cuts) {
				t.Fatalf("%s: cut %d of the job comes twice or is none", name, c.Written)
			}
			written[c.Written] = true
			w := &list.Cuts[c.Written-1]
			if c.Settings != w.Settings || c.Depth != w.Depth || len(c.Dials) != len(p.Sheet.Dials) || len(c.Spans) != len(w.Pieces) || c.Hold == "" || c.HoldText == "" || c.Action == "" {
				t.Fatalf("%s: cut %d is %+v, written %+v", name, c.Number, c, w.Settings)
			}
			if p.Plan == nil && (c.Action != s.Action(w) || c.Moves.String() != s.Moves(w).String()) {
				t.Fatalf("%s: cut %d: %q", name, c.Number, c.Action)
			}
			total += c.Length
		}
		if p.Plan == nil && math.Abs(total-s.Length) > 1e-6*s.Length {
			t.Fatalf("%s: the cuts are %g mm together, the sheet says %g", name, total, s.Length)
		}
	}
}

// The barleycorn panel in words that were written down by hand from its file: a
// step of 16 teeth, half a wave up and down in turn.
func TestProgramOfThePanel(t *testing.T) {
	p := programOf(t, "barleycorn")
	for n, want := range map[int]string{1: "Cut.", 2: "Step 16 teeth. Bar up 75 teeth.", 3: "Step 16 teeth. Bar down 75 teeth."} {
		if got := p.Cuts[n-1].Action; got != want {
			t.Errorf("cut %d: %q, want %q", n, got, want)
		}
	}
	if sp := p.Cuts[0].Spans; len(sp) != 1 || sp[0].Ring {
		t.Errorf("cut 1 runs over %+v", sp)
	}
}

// A job with a plan changes its hold in words at the cut where it changes, and
// nowhere else.
func TestProgramTellsChanges(t *testing.T) {
	p := programOf(t, "bowed-dial")
	if len(p.Plan.Holds) < 2 {
		t.Fatalf("the plan has one hold: %v", p.Plan.Holds)
	}
	for i := range p.Cuts {
		changes := i > 0 && p.Cuts[i].HoldText != p.Cuts[i-1].HoldText
		if changes && p.Cuts[i].Change == "" {
			t.Errorf("cut %d: %s, and no word of the change", i+1, p.Cuts[i].HoldText)
		}
		if !changes && strings.Contains(p.Cuts[i].Change, "the stop") {
			t.Errorf("cut %d: %s", i+1, p.Cuts[i].Change)
		}
	}
	bands := programOf(t, "bands")
	for i := 1; i < len(bands.Cuts); i++ {
		if other := bands.Cuts[i].Settings.Bar != bands.Cuts[i-1].Settings.Bar; other != strings.Contains(bands.Cuts[i].Change, "Put on ") {
			t.Errorf("cut %d: bar %s, change %q", i+1, bands.Cuts[i].Settings.Bar, bands.Cuts[i].Change)
		}
	}
}

// What is moved after the last cut is told.
func TestProgramTellsWhatIsLeft(t *testing.T) {
	some := false
	for _, name := range []string{"sunburst", "barleycorn", "drifting-sunburst", "scales", "waves-in-step"} {
		p := programOf(t, name)
		moves := false
		for _, m := range p.List.After {
			moves = moves || m.Motion != engine.Note || m.Name != ""
		}
		if moves != (p.After != "") {
			t.Errorf("%s: %v, told %q", name, p.List.After, p.After)
		}
		some = some || moves
	}
	if !some {
		t.Fatal("no job has moves after its last cut: the test says nothing")
	}
}

// The job that runs is the frozen one, whatever becomes of the file.
func TestFrozenStays(t *testing.T) {
	folder := fstest.MapFS{}
	copyFile := func(name string) {
		text, err := examples.Workshop.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		folder[name] = &fstest.MapFile{Data: text}
	}
	f := frozen(t, "bowed-dial")
	if len(f.files) < 5 {
		t.Fatalf("only %d files are frozen", len(f.files))
	}
	for name := range f.files {
		copyFile(name)
	}
	here, err := Freeze(folder, "bowed-dial.yaml")
	if err != nil || here.Digest != f.Digest {
		t.Fatalf("of the files that were frozen the job comes to %v, %v", here, err)
	}
	// Every single file of them matters to the digest.
	for name, file := range folder {
		was := file.Data
		file.Data = append([]byte("# changed\n"), was...)
		if other, err := Freeze(folder, "bowed-dial.yaml"); err == nil && other.Digest == f.Digest {
			t.Errorf("%s changed, and the digest did not", name)
		}
		file.Data = was
	}
	l, err := Open(t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	r, err := l.Start(context.Background(), Start{ID: "r", Frozen: here})
	if err != nil {
		t.Fatal(err)
	}
	clear(folder)
	p, err := r.Plan(context.Background())
	if err != nil || len(p.Cuts) != r.State.Strokes || p.Plan == nil {
		t.Fatalf("%v", err)
	}
	r.Settings[3].Slide++ // as another version of the program would have them
	if _, err := r.Plan(context.Background()); !errors.Is(err, ErrOtherCuts) || !strings.Contains(err.Error(), "cut 4") {
		t.Fatal(err)
	}
}

// A job that cannot be cut starts no run, with the job's own faults.
func TestStartOfWhatCannotBeCut(t *testing.T) {
	if _, err := Freeze(examples.Workshop, "none.yaml"); err == nil || !strings.Contains(err.Error(), "no such file") {
		t.Fatal(err)
	}
}
