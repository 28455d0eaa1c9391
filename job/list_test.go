package job_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"

	"pgregory.net/rapid"

	"brightcut/job"
)

const listed = `# A head.
title: Lists   # kept
limits: {from: 2, to: 17}
blank:
  metal: silver
  windows:
    # the date
    - {name: date, shape: disc, centre: [0, 6], diameter: 5}

    - name: two
      shape: disc
sequence:
  # the ground
  - repeat: 16   # rows
    do:
      - cut
      # a tooth
      - step: 1 tooth   # one
      - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]
  - repeat: 3
    do: [cut, {step: 0.2 mm}, "cut"]

  - note: |
      Wipe the work
      and look.
  - chuck: 90 deg
# the end
notes: Words
`

func lists(t interface{ Fatal(...any) }, text string) *job.Document {
	d, err := job.Open(fstest.MapFS{"lists.yaml": {Data: []byte(text)}}, "lists.yaml")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// Each change touches its own lines and no other byte.
func TestEdit(t *testing.T) {
	for _, c := range []struct {
		what     string
		do       func(d *job.Document) error
		old, new string
	}{
		{"insert in lines", func(d *job.Document) error { return d.Insert("sequence[0].do[1]", "cut") },
			"      # a tooth\n", "      - cut\n      # a tooth\n"},
		{"append to lines", func(d *job.Document) error { return d.Insert("sequence[4]", "{step: 0.2 mm}") },
			"  - chuck: 90 deg\n", "  - chuck: 90 deg\n  - {step: 0.2 mm}\n"},
		{"insert in brackets", func(d *job.Document) error { return d.Insert("sequence[1].do[0]", "{turn: 1/360 turn}") },
			"do: [cut, {step", "do: [{turn: 1/360 turn}, cut, {step"},
		{"append in brackets", func(d *job.Document) error { return d.Insert("sequence[1].do[3]", "{note: \"a, b\"}") },
			`"cut"]`, `"cut", {note: "a, b"}]`},
		{"a choice", func(d *job.Document) error { return d.Insert("sequence[0].do[2].alternate[2]", "{shift: 0}") },
			"{shift: -1/2 wave}]", "{shift: -1/2 wave}, {shift: 0}]"},
		{"remove with its comment", func(d *job.Document) error { return d.Remove("sequence[0].do[1]") },
			"      # a tooth\n      - step: 1 tooth   # one\n", ""},
		{"remove in brackets", func(d *job.Document) error { return d.Remove("sequence[1].do[1]") },
			"[cut, {step: 0.2 mm}, ", "[cut, "},
		{"remove the last in brackets", func(d *job.Document) error { return d.Remove("sequence[1].do[2]") },
			`, "cut"]`, "]"},
		{"remove a text of lines", func(d *job.Document) error { return d.Remove("sequence[2]") },
			"  - note: |\n      Wipe the work\n      and look.\n", ""},
		{"remove a key", func(d *job.Document) error { return d.Remove("limits") }, "limits: {from: 2, to: 17}\n", ""},
		{"remove a key in brackets", func(d *job.Document) error { return d.Remove("limits.to") }, "from: 2, to: 17", "from: 2"},
		{"remove the first key in brackets", func(d *job.Document) error { return d.Remove("limits.from") }, "from: 2, to: 17", "to: 17"},
		{"remove a list", func(d *job.Document) error { return d.Remove("blank.windows") },
			listed[strings.Index(listed, "  windows:"):strings.Index(listed, "sequence:")], ""},
		{"move down", func(d *job.Document) error { return d.Move("sequence[0].do[1]", "sequence[0].do[3]") },
			"      # a tooth\n      - step: 1 tooth   # one\n      - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]\n",
			"      - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]\n      # a tooth\n      - step: 1 tooth   # one\n"},
		{"move out", func(d *job.Document) error { return d.Move("sequence[3]", "sequence[0].do[0]") },
			"      - cut\n      # a tooth\n      - step: 1 tooth   # one\n      - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]\n  - repeat: 3\n    do: [cut, {step: 0.2 mm}, \"cut\"]\n\n  - note: |\n      Wipe the work\n      and look.\n  - chuck: 90 deg\n",
			"      - chuck: 90 deg\n      - cut\n      # a tooth\n      - step: 1 tooth   # one\n      - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]\n  - repeat: 3\n    do: [cut, {step: 0.2 mm}, \"cut\"]\n\n  - note: |\n      Wipe the work\n      and look.\n"},
		{"duplicate", func(d *job.Document) error { return d.Duplicate("sequence[0].do[1]") },
			"      # a tooth\n      - step: 1 tooth   # one\n", "      # a tooth\n      - step: 1 tooth   # one\n      # a tooth\n      - step: 1 tooth   # one\n"},
		{"repeat", func(d *job.Document) error { return d.Repeat("sequence[0].do[0]", 2, 5) },
			"      - cut\n      # a tooth\n      - step: 1 tooth   # one\n", "      - repeat: 5\n        do:\n          - cut\n          # a tooth\n          - step: 1 tooth   # one\n"},
		{"repeat in brackets", func(d *job.Document) error { return d.Repeat("sequence[1].do[0]", 2, 5) },
			"[cut, {step: 0.2 mm}, ", "[{repeat: 5, do: [cut, {step: 0.2 mm}]}, "},
		{"unroll", func(d *job.Document) error { return d.Unroll("sequence[0]") },
			"  - repeat: 16   # rows\n    do:\n      - cut\n      # a tooth\n      - step: 1 tooth   # one\n      - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]\n",
			"  - cut\n  # a tooth\n  - step: 1 tooth   # one\n  - alternate: [{shift: 1/2 wave}, {shift: -1/2 wave}]\n"},
		{"unroll brackets", func(d *job.Document) error { return d.Unroll("sequence[1]") },
			"  - repeat: 3\n    do: [cut, {step: 0.2 mm}, \"cut\"]\n", "  - cut\n  - {step: 0.2 mm}\n  - \"cut\"\n"},
		{"put a mapping", func(d *job.Document) error { return d.Put("limits", "{from: 3, to: 4 in}") }, "{from: 2, to: 17}", "{from: 3, to: 4 in}"},
		{"put for a scalar", func(d *job.Document) error { return d.Put("blank.metal", "{name: Silver}") }, "metal: silver", "metal: {name: Silver}"},
		{"put a new key", func(d *job.Document) error { return d.Put("start", "{slide: -12}") }, "limits: {from: 2, to: 17}\n", "limits: {from: 2, to: 17}\n"},
		{"set in a mapping that is not there", func(d *job.Document) error { return d.Set("start.slide", "-12, 5") }, "limits: {from: 2, to: 17}\n", "limits: {from: 2, to: 17}\n"},
		{"put for lines", func(d *job.Document) error { return d.Put("blank.windows[1]", "{name: x}") },
			"    - name: two\n      shape: disc\n", "    - {name: x}\n"},
		{"put for a list", func(d *job.Document) error { return d.Put("blank.windows", "[]") },
			listed[strings.Index(listed, "  windows:"):strings.Index(listed, "sequence:")], "  windows: []\n"},
	} {
		d := lists(t, listed)
		if err := c.do(d); err != nil {
			t.Errorf("%s: %v", c.what, err)
			continue
		}
		if strings.Count(listed, c.old) != 1 {
			t.Fatalf("%s: the old text stands %d times", c.what, strings.Count(listed, c.old))
		}
		want := strings.Replace(listed, c.old, c.new, 1)
		if c.what == "put a new key" {
			want = strings.Replace(listed, "notes: Words\n", "notes: Words\nstart: {slide: -12}\n", 1)
		}
		if strings.HasPrefix(c.what, "set in") {
			want = strings.Replace(listed, "notes: Words\n", "notes: Words\nstart: {slide: \"-12, 5\"}\n", 1)
		}
		if got := string(d.Text()); got != want {
			t.Errorf("%s: %s\n%s", c.what, firstLineThatDiffers(got, want), got)
		}
	}
}

func TestEditRefuses(t *testing.T) {
	for _, c := range []struct {
		do   func(d *job.Document) error
		want string
	}{
		{func(d *job.Document) error { return d.Insert("sequence", "cut") }, "insert at sequence in lists.yaml: the path does not end at a place in a list, such as sequence[2]"},
		{func(d *job.Document) error { return d.Insert("sequence[9]", "cut") }, "insert at sequence[9] in lists.yaml: there is no such place"},
		{func(d *job.Document) error { return d.Insert("title[0]", "cut") }, `insert at title[0] in lists.yaml: there is no such place`},
		{func(d *job.Document) error { return d.Insert("sequence[0]", "cut], x: [y") }, "insert at sequence[0] in lists.yaml: the value is not YAML on one line, such as cut or {step: 0.2 mm}"},
		{func(d *job.Document) error { return d.Insert("sequence[0]", "a\nb") }, "insert at sequence[0] in lists.yaml: the value is not YAML on one line, such as cut or {step: 0.2 mm}"},
		{func(d *job.Document) error { return d.Insert("sequence[0]", "*a") }, "insert at sequence[0] in lists.yaml: the value is not YAML on one line, such as cut or {step: 0.2 mm}"},
		{func(d *job.Document) error { return d.Remove("nothing") }, "remove nothing in lists.yaml: there is no such place"},
		{func(d *job.Document) error { return d.Move("sequence[0]", "sequence[0].do[1]") }, "move sequence[0] to sequence[0].do[1] in lists.yaml: an item cannot be put into itself"},
		{func(d *job.Document) error { return d.Unroll("sequence[3]") }, "unroll sequence[3] in lists.yaml: this is not a repeat"},
		{func(d *job.Document) error { return d.Repeat("sequence[3]", 2, 3) }, "repeat sequence[3] in lists.yaml: there is no such place"},
		{func(d *job.Document) error { return d.Put("cutter.included", "3") }, "put cutter.included in lists.yaml: there is no such place"},
		{func(d *job.Document) error { return d.Move("sequence[2]", "sequence[1].do[0]") }, ""},
	} {
		d := lists(t, listed)
		err := c.do(d)
		if c.want == "" { // a text of lines goes into brackets as one line
			if err != nil {
				t.Error(err)
			}
			continue
		}
		if err == nil || err.Error() != c.want {
			t.Errorf("got %v, want %s", err, c.want)
		}
		if string(d.Text()) != listed {
			t.Errorf("%s: the text changed", c.want)
		}
	}
}

// Whatever is done, the document reads as the model list says, and every comment
// that no removal took is still there.
func TestEditKeepsTheModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		flow := rapid.Bool().Draw(t, "in brackets")
		n := rapid.IntRange(1, 5).Draw(t, "items")
		var model []string
		text := "title: x\nsequence:\n"
		if flow {
			text = "title: x\nsequence: ["
		}
		for i := range n {
			model = append(model, fmt.Sprint("note ", i))
			switch {
			case flow && i > 0:
				text += fmt.Sprintf(", note %d", i)
			case flow:
				text += fmt.Sprintf("note %d", i)
			default:
				text += rapid.SampledFrom([]string{"", "\n", "  # above\n", "# at the margin\n"}).Draw(t, "before")
				text += fmt.Sprintf("  -%snote %d%s\n", rapid.SampledFrom([]string{" ", "   "}).Draw(t, "gap"), i, rapid.SampledFrom([]string{"", "   # behind"}).Draw(t, "behind"))
			}
		}
		if flow {
			text += "]\n"
		}
		text += "# the end\nnotes: y\n"
		d := lists(t, text)
		for step := range rapid.IntRange(1, 6).Draw(t, "changes") {
			at := rapid.IntRange(0, len(model)-1).Draw(t, "at")
			path := fmt.Sprintf("sequence[%d]", at)
			var err error
			switch rapid.IntRange(0, 4).Draw(t, "op") {
			case 0:
				word := fmt.Sprint("new ", step)
				if err = d.Insert(path, word); err == nil {
					model = append(model[:at], append([]string{word}, model[at:]...)...)
				}
			case 1:
				if len(model) > 1 {
					if err = d.Remove(path); err == nil {
						model = append(model[:at], model[at+1:]...)
					}
				}
			case 2:
				if err = d.Duplicate(path); err == nil {
					model = append(model[:at+1], model[at:]...)
				}
			case 3:
				to := rapid.IntRange(0, len(model)).Draw(t, "to")
				if len(model) > 1 {
					if err = d.Move(path, fmt.Sprintf("sequence[%d]", to)); err == nil {
						word := model[at]
						rest := append(append([]string{}, model[:at]...), model[at+1:]...)
						if to > at {
							to--
						}
						model = append(append(append([]string{}, rest[:to]...), word), rest[to:]...)
					}
				}
			case 4:
				if err = d.Repeat(path, 1, 2); err == nil {
					err = d.Unroll(path)
				}
			}
			if err != nil {
				t.Fatalf("%v\n%s", err, d.Text())
			}
		}
		want := fmt.Sprint(append(append([]string{"x"}, model...), "y"))
		var got []string
		for _, v := range d.Values(100) {
			got = append(got, v.Text)
		}
		if fmt.Sprint(got) != want {
			t.Fatalf("got %v, want %v\n%s", got, want, d.Text())
		}
		if !strings.Contains(string(d.Text()), "# the end\nnotes: y\n") {
			t.Fatalf("the end has changed:\n%s", d.Text())
		}
	})
}

func TestParts(t *testing.T) {
	d, err := job.Open(laid(t, nil), "barleycorn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ path, want string }{
		{"cutter.included", "cutter bright-130 included true"},
		{"engine.slide.pitch", "engine long-bench slide.pitch true"},
		{"cutter", "   false"},
		{"depth", "   false"},
		{"bar.wave", "bar fine-sine wave true"},
		{"title.x", "   false"},
	} {
		kind, name, field, ok := d.Part(c.path)
		if got := fmt.Sprint(kind, " ", name, " ", field, " ", ok); got != c.want {
			t.Errorf("%s: %s, want %s", c.path, got, c.want)
		}
	}
	names := fmt.Sprint(d.Names())
	for _, want := range []string{"{engine long-bench engine}", "{cutter bright-130 cutter}"} {
		if !strings.Contains(names, want) {
			t.Errorf("%s lacks %s", names, want)
		}
	}
}
