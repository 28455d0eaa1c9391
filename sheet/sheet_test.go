package sheet

import (
	"bytes"
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf8"

	"brightcut/engine"
	"brightcut/job"
)

var update = flag.Bool("update", false, "write the golden sheets anew")

func TestTextGolden(t *testing.T) {
	each(t, func(t *testing.T, j *job.Job, l *engine.List, s *Sheet) {
		var b bytes.Buffer
		if err := WriteText(&b, s); err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(b.String(), "\n") {
			if n := utf8.RuneCountInString(line); n > columns {
				t.Errorf("line %d has %d columns: %s", i+1, n, line)
			}
		}
		_, name := filepath.Split(t.Name())
		golden := filepath.Join("testdata", name+".txt")
		if *update {
			if err := os.WriteFile(golden, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			return
		}
		want, err := os.ReadFile(golden)
		if err != nil {
			t.Fatal(err)
		}
		got, wanted := strings.Split(b.String(), "\n"), strings.Split(string(want), "\n")
		for i := range max(len(got), len(wanted)) {
			a, b := "(no line)", "(no line)"
			if i < len(got) {
				a = got[i]
			}
			if i < len(wanted) {
				b = wanted[i]
			}
			if a != b {
				t.Fatalf("%s, line %d:\n got %s\nwant %s\n(go test -update writes it anew)", golden, i+1, a, b)
			}
		}
	})
}
