package job_test

import (
	"os"
	"strings"
	"testing"

	"brightcut/job"
)

// Set changes one value and no other byte.
func TestSet(t *testing.T) {
	text := part(t, "barleycorn.yaml")
	for _, c := range []struct{ path, value, old, new string }{
		{"depth", "0.05", "\ndepth: 0.045\n", "\ndepth: 0.05\n"},
		{"depth", "2 thou", "\ndepth: 0.045\n", "\ndepth: 2 thou\n"},
		{"title", "Panel: the second", "title: Barleycorn panel", `title: "Panel: the second"`},
		{"title", "12", "title: Barleycorn panel", "title: 12"},
		{"title", "", "title: Barleycorn panel", `title: ""`},
		{"title", "Körner # é", "title: Barleycorn panel", `title: "Körner # é"`},
		{"units", "inch", "units: mm                  # mm", "units: inch                  # mm"},
		{"blank.border", "1.5", "border: 1                # uncut", "border: 1.5                # uncut"},
		{"blank.outline.centre[1]", "0.25", "centre: [0, 0]}", "centre: [0, 0.25]}"},
		{"blank.windows[0].centre[0]", "-1", "centre: [0, 6], diameter", "centre: [-1, 6], diameter"},
		{"blank.windows[0].name", "date, day", "{name: aperture,", `{name: "date, day",`},
		{"sequence[0].do[1].step", "16 teeth", "- step: 0.156 mm           # slide", "- step: 16 teeth           # slide"},
		{"sequence[0].do[2].alternate[1].shift", "-1/3 wave", "{shift: -1/2 wave}]", "{shift: -1/3 wave}]"},
		{"sequence[4].set.shift", "3 teeth", "shift: 0}", "shift: 3 teeth}"},
		{"seconds", "3", "note: Wipe", ""}, // a new key at the end of the file's one-line keys
		{"blank.outline.units", "3", "outline: {shape", "outline: {units: 3, shape"},
		{"limits.from", "2 in", "{from: -9,", "{from: 2 in,"},
	} {
		d, err := job.Open(laid(t, nil), "barleycorn.yaml")
		if err != nil {
			t.Fatal(err)
		}
		if err := d.Set(c.path, c.value); err != nil {
			t.Errorf("%s: %v", c.path, err)
			continue
		}
		want := strings.Replace(text, c.old, c.new, 1)
		if c.new == "" {
			want = strings.Replace(text, "slide: -12.5, shift: 0, index: 0, chuck: 0 deg}\n", "slide: -12.5, shift: 0, index: 0, chuck: 0 deg}\nseconds: 3\n", 1)
		}
		if got := string(d.Text()); got != want || got == text {
			t.Errorf("%s = %s:\n%s", c.path, c.value, firstLineThatDiffers(got, want))
		}
		if err := d.Set(c.path, c.value); err != nil || string(d.Text()) != want {
			t.Errorf("%s: set twice, %v", c.path, err)
		}
	}
}

func firstLineThatDiffers(a, b string) string {
	x, y := strings.Split(a, "\n"), strings.Split(b, "\n")
	for i := range min(len(x), len(y)) {
		if x[i] != y[i] {
			return " got " + x[i] + "\nwant " + y[i]
		}
	}
	return "one is longer"
}

func TestSetRefuses(t *testing.T) {
	for _, c := range []struct{ path, value, want string }{
		{"", "1", "set : the path is empty"},
		{"a..b", "1", "set a..b: a key is empty"},
		{"sequence[x]", "1", "set sequence[x]: a place in a list is written [0], [1] and so on"},
		{"sequence[99].step", "1", "set sequence[99].step in barleycorn.yaml: there is no such place"},
		{"cutter.included", "120", `set cutter.included in barleycorn.yaml: "bright-130" names a part; change the part's own file`},
		{"blank", "none", "set blank in barleycorn.yaml: a list or keys and values stand there; set one of them"},
		{"sequence[0]", "cut", "set sequence[0] in barleycorn.yaml: a list or keys and values stand there; set one of them"},
		{"notes", "less", "set notes in barleycorn.yaml: a text of several lines stands there; change it in the file"},
	} {
		d, err := job.Open(laid(t, nil), "barleycorn.yaml")
		if err != nil {
			t.Fatal(err)
		}
		before := string(d.Text())
		if err := d.Set(c.path, c.value); err == nil || err.Error() != c.want {
			t.Errorf("%s: got %v, want %s", c.path, err, c.want)
		}
		if string(d.Text()) != before {
			t.Errorf("%s: the text changed", c.path)
		}
	}
}

// A document that was set reads as the job meant.
func TestSetReads(t *testing.T) {
	d, err := job.Open(os.DirFS("testdata/shop"), "barleycorn.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for path, value := range map[string]string{"sequence[0].repeat": "12", "blank.thickness": "1/4 in", "touchpiece": "0.5", "guide": "right-foot"} {
		if err := d.Set(path, value); err != nil {
			t.Fatal(err)
		}
	}
	j, err := d.Job()
	if err != nil {
		t.Fatal(err)
	}
	if j.Setup.Sequence[0].Count != 12 || j.Setup.Blank.Thickness != 6.35 || j.Setup.Touch != 0.5 {
		t.Errorf("read as %+v", j.Setup)
	}
}
