package job

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/rogpeppe/go-internal/txtar"

	"brightcut/fault"
)

var update = flag.Bool("update", false, "write the golden files anew")

// workshop lays the files of an archive over those of testdata/shop.
func workshop(t testing.TB, over *txtar.Archive) fstest.MapFS {
	t.Helper()
	shop := fstest.MapFS{}
	base := os.DirFS("testdata/shop")
	err := fs.WalkDir(base, ".", func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			var text []byte
			text, err = fs.ReadFile(base, path)
			shop[path] = &fstest.MapFile{Data: text}
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	if over != nil {
		for _, f := range over.Files {
			shop[f.Name] = &fstest.MapFile{Data: f.Data}
		}
	}
	return shop
}

// Each archive holds jobs with faults and, in .faults, what Read and Cuts say
// of them: word for word, or only the places where another package's check finds
// the words.
func TestFaults(t *testing.T) {
	archives, err := filepath.Glob("testdata/faults/*.txtar")
	if err != nil || len(archives) == 0 {
		t.Fatal("no archives: ", err)
	}
	goldens := map[string]bool{}
	for _, file := range archives {
		golden := strings.TrimSuffix(file, ".txtar") + ".faults"
		goldens[golden] = true
		t.Run(filepath.Base(file), func(t *testing.T) {
			a, err := txtar.ParseFile(file)
			if err != nil {
				t.Fatal(err)
			}
			shop := workshop(t, a)
			var b strings.Builder
			for _, f := range a.Files {
				if strings.Contains(f.Name, "/") {
					continue
				}
				j, err := ReadFS(shop, f.Name)
				if err == nil {
					_, err = j.Cuts(context.Background())
				}
				var l fault.List
				if !errors.As(err, &l) {
					t.Errorf("%s: got %v, want faults", f.Name, err)
					continue
				}
				b.WriteString("== " + f.Name + "\n")
				for _, x := range l {
					checkFault(t, x)
					if bytes.HasPrefix(a.Comment, []byte("Places only")) {
						x.Problem, x.Mend, x.Line = "…", "", ""
					}
					b.WriteString(x.Error() + "\n")
				}
				b.WriteByte('\n')
			}
			got := b.String()
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			firstDifference(t, golden, got, string(want))
		})
	}
	all, _ := filepath.Glob("testdata/faults/*.faults")
	for _, g := range all {
		if !goldens[g] {
			t.Errorf("%s belongs to no archive", g)
		}
	}
}

// checkFault holds for every fault that a reading gives.
func checkFault(t *testing.T, f fault.Fault) {
	t.Helper()
	switch {
	case f.Origin.File == "":
		t.Errorf("no file: %v", f)
	case f.Origin.Line > 0 && f.Origin.Column < 1:
		t.Errorf("a line without a column: %v", f)
	case f.Problem == "" || f.Mend == "":
		t.Errorf("nothing said: %#v", f)
	case strings.ContainsAny(f.Line, "\n\x1b\x00"):
		t.Errorf("the line would upset a terminal: %q", f.Line)
	}
}

func firstDifference(t *testing.T, name, got, want string) {
	t.Helper()
	g, w := strings.Split(got, "\n"), strings.Split(want, "\n")
	for i := range max(len(g), len(w)) {
		var a, b string
		if i < len(g) {
			a = g[i]
		}
		if i < len(w) {
			b = w[i]
		}
		if a != b {
			t.Errorf("%s:%d:\n got %s\nwant %s\n(go test ./job -update writes what is got)", name, i+1, a, b)
			return
		}
	}
}
