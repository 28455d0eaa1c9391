package main

import (
	"context"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/examples"
	"brightcut/job"
)

// The job that the README shows is a job: it can be cut in the example workshop,
// and its settings are those that its comments tell.
func TestREADMEJob(t *testing.T) {
	text, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "```yaml\n")
	shown, _, closed := strings.Cut(rest, "```")
	if !found || !closed {
		t.Fatal("the README shows no job")
	}
	dir := t.TempDir()
	if err := os.CopyFS(dir, fs.FS(examples.Workshop)); err != nil {
		t.Fatal(err)
	}
	file := filepath.Join(dir, "readme.yaml")
	if err := os.WriteFile(file, []byte(shown), 0o644); err != nil {
		t.Fatal(err)
	}
	j, err := job.Read(file)
	if err != nil {
		t.Fatal(err)
	}
	list, err := j.Cuts(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	a, b := list.Cuts[0].Settings, list.Cuts[1].Settings
	if b.Slide-a.Slide != 16 || b.Shift-a.Shift != 75 {
		t.Errorf("from cut 1 to 2 the slide moves %d teeth and the bar %d; the README says 16 and 75", b.Slide-a.Slide, b.Shift-a.Shift)
	}
}
