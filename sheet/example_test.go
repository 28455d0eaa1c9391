package sheet

import (
	"bytes"
	"context"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/job"
)

// TestExamples makes the sheet of every example job, whose cuts the engine made:
// the table tells all of them in a few rows, and every value of the sequence
// knows the line of the job that sets it.
func TestExamples(t *testing.T) {
	files, err := filepath.Glob(filepath.Join("..", "examples", "*.yaml"))
	if err != nil || len(files) < 12 {
		t.Fatalf("%d examples: %v", len(files), err)
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			j, err := job.Read(file)
			if err != nil {
				t.Fatal(err)
			}
			l, err := j.Cuts(context.Background())
			if err != nil {
				t.Fatal(err)
			}
			s := New(j, l)
			same(t, expand(s.Table), told(s.voice, l, s.voice.holds(j, nil)))
			rows := 0
			for _, b := range s.Table {
				for _, r := range b.Rows {
					rows++
					for i, d := range r.From {
						if want := counts(l.Cuts[r.First-1].Settings, d.Axis); d.Count != want {
							t.Errorf("cut %d: %s reads %d, the engine stands at %d", r.First, d.Name, d.Count, want)
						}
						if want := counts(l.Cuts[r.Last-1].Settings, d.Axis); r.To[i].Count != want {
							t.Errorf("cut %d: %s reads %d, the engine stands at %d", r.Last, d.Name, r.To[i].Count, want)
						}
					}
				}
			}
			if rows > 12 {
				t.Errorf("%d rows", rows)
			}
			nameless := 0
			for i := range l.Cuts {
				for _, p := range s.Moves(&l.Cuts[i]) {
					if p.Value && p.Field == "" && !strings.HasSuffix(p.Text, "µm") { // a depth set back has no line of its own
						nameless++
					}
				}
			}
			if nameless > 0 {
				t.Errorf("%d values of the sequence name no line of the job", nameless)
			}
			var b bytes.Buffer
			if err := WriteText(&b, s); err != nil {
				t.Fatal(err)
			}
			read(t, inHTML(t, s))
		})
	}
}
