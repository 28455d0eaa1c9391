package sheet

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/engine"
	"brightcut/job"
)

// TestLook writes every sheet to the folder named by SHEET_LOOK, to be looked at.
func TestLook(t *testing.T) {
	dir := os.Getenv("SHEET_LOOK")
	if dir == "" {
		t.Skip("SHEET_LOOK names no folder")
	}
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		name := filepath.Join(dir, filepath.Base(t.Name()))
		for paper, end := range map[Paper]string{A4: "-a4.pdf", Letter: "-letter.pdf"} {
			var b bytes.Buffer
			if err := WritePDF(&b, s, paper); err != nil {
				t.Fatal(err)
			}
			os.WriteFile(name+end, b.Bytes(), 0o644)
		}
		var b bytes.Buffer
		if err := WriteHTML(&b, s); err != nil {
			t.Fatal(err)
		}
		os.WriteFile(name+".html", b.Bytes(), 0o644)
	})
}

var _ = exec.Command
var _ = strings.Contains
