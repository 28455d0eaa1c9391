package examples_test

import (
	"io/fs"
	"math"
	"path"
	"slices"
	"strings"
	"testing"

	"brightcut/engine"
	"brightcut/examples"
	"brightcut/job"
)

const deg = math.Pi / 180

// What each job must come to: cuts, the kinds of warning it is there to show,
// and whether its pieces are rings.
var want = map[string]struct {
	cuts     int
	warnings string
}{
	"bands":             {104, ""},
	"bowed-dial":        {360, ""},
	"barleycorn":        {160, "rounding"},
	"barleycorn-rings":  {128, ""},
	"basket-weave":      {186, "lost detail"}, // sharp hollows, whatever the nose
	"beats":             {150, ""},
	"concentric-waves":  {61, ""},
	"crossed-waves":     {180, ""},
	"domed-boss":        {40, ""},
	"drapery":           {180, ""},
	"drifting-sunburst": {180, ""},
	"enamel-medal":      {120, ""},
	"hobnail":           {236, ""},
	"inch-barleycorn":   {77, ""},
	"leaves":            {40, ""},
	"lantern-pendant":   {69, ""},
	"napkin-ring":       {55, ""},
	"parallel-lines":    {111, ""},
	"petal-basket":      {60, ""},
	"pumped-rings":      {114, ""},
	"ribbon":            {144, ""},
	"scales":            {78, ""},
	"steep-zigzag":      {41, "heel"},
	"sunburst":          {360, ""},
	"swirl":             {89, ""},
	"triangular-points": {159, ""},
	"two-edges":         {70, ""},
	"waves-in-step":     {125, ""},
	"wavy-dial":         {180, ""},
	"worm-sunburst":     {270, ""},
}

func read(t *testing.T, name string) (*job.Job, *engine.List) {
	t.Helper()
	j, err := job.ReadFS(examples.Workshop, name+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, err := j.Cuts(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return j, l
}

func TestEveryJobCutsAsItShould(t *testing.T) {
	files, err := fs.Glob(examples.Workshop, "*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != len(want) {
		t.Errorf("%d jobs in the workshop, %d expected here", len(files), len(want))
	}
	for _, file := range files {
		name := strings.TrimSuffix(file, ".yaml")
		t.Run(name, func(t *testing.T) {
			w, ok := want[name]
			if !ok {
				t.Fatal("nothing is said here of what it must come to")
			}
			j, l := read(t, name)
			if len(l.Cuts) != w.cuts {
				t.Errorf("%d cuts, want %d", len(l.Cuts), w.cuts)
			}
			var kinds []string
			for _, x := range l.Warnings {
				if !slices.Contains(kinds, x.Kind) {
					kinds = append(kinds, x.Kind)
				}
			}
			if got := strings.Join(kinds, " "); got != w.warnings {
				t.Errorf("warnings %q, want %q: %+v", got, w.warnings, l.Warnings)
			}
			for _, c := range l.Closures {
				if !c.Closes {
					t.Errorf("the round does not close: %+v", c)
				}
			}
			field := j.Setup.Blank.Field()
			for _, c := range l.Cuts {
				if len(c.Pieces) == 0 {
					t.Errorf("cut %d cuts nothing", c.Number)
				}
				for _, p := range c.Pieces {
					for _, v := range p.Path {
						if d := field.Distance(vec(v)); d > 1e-5 {
							t.Fatalf("cut %d leaves the field by %v mm", c.Number, d)
						}
						if v.Z >= 0 || -v.Z > j.Setup.Blank.Thickness/2 {
							t.Fatalf("cut %d is %v mm deep in a blank of %v", c.Number, -v.Z, j.Setup.Blank.Thickness)
						}
					}
				}
			}
		})
	}
}

// A part that no job uses shows nobody anything.
func TestEveryPartIsUsed(t *testing.T) {
	files, err := fs.Glob(examples.Workshop, "*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	var all strings.Builder
	for _, file := range files {
		b, err := fs.ReadFile(examples.Workshop, file)
		if err != nil {
			t.Fatal(err)
		}
		all.Write(b)
	}
	words := strings.FieldsFunc(all.String(), func(r rune) bool { return strings.ContainsRune(" \n,:[]{}", r) })
	parts, err := fs.Glob(examples.Workshop, "*/*.yaml")
	if err != nil || len(parts) == 0 {
		t.Fatalf("%d parts, %v", len(parts), err)
	}
	for _, p := range parts {
		if path.Dir(p) == "calibrations" || p == job.PricesFile { // used by those who use its cutter and guide; by every quote
			continue
		}
		if name := strings.TrimSuffix(path.Base(p), ".yaml"); !slices.Contains(words, name) {
			t.Errorf("no job uses %s", p)
		}
	}
}
