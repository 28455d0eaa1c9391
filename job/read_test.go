package job_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"testing"
	"testing/fstest"

	"brightcut/job"
)

// laid lays files over those of testdata/shop.
func laid(t testing.TB, over map[string]string) fstest.MapFS {
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
	for name, text := range over {
		shop[name] = &fstest.MapFile{Data: []byte(text)}
	}
	return shop
}

const small = `title: Small
blank: {metal: silver, thickness: 0.8, outline: {shape: disc, diameter: 36}}
engine: long-bench
cutter: bright-130
depth: 0.045
sequence: [cut]
`

// Files from other systems read alike: a byte order mark, CRLF, no last line end.
func TestOtherSystems(t *testing.T) {
	want, err := job.ReadFS(laid(t, map[string]string{"job.yaml": small}), "job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for what, text := range map[string]string{
		"byte order mark": "\ufeff" + small,
		"CRLF":            strings.ReplaceAll(small, "\n", "\r\n"),
		"both":            "\ufeff" + strings.ReplaceAll(small, "\n", "\r\n"),
		"no last line":    strings.TrimSuffix(small, "\n"),
		"a first rule":    "---\n" + small,
	} {
		j, err := job.ReadFS(laid(t, map[string]string{"job.yaml": text}), "job.yaml")
		if err != nil {
			t.Errorf("%s: %v", what, err)
			continue
		}
		if !reflect.DeepEqual(j.Setup.Cutter, want.Setup.Cutter) || j.Title != want.Title || j.Setup.Depth != want.Setup.Depth {
			t.Errorf("%s: read as %+v", what, j)
		}
	}
	_, err = job.ReadFS(laid(t, map[string]string{"job.yaml": "\ufeff" + strings.ReplaceAll(small, "\n", "\r\n") + "dept: 3\r\n"}), "job.yaml")
	if want := "job.yaml:7:1: dept: the key is not known\n    7 | dept: 3\n    mend: did you mean depth?"; err == nil || err.Error() != want {
		t.Errorf("got %v, want %s", err, want)
	}
}

// The digest changes with the job and with each part it names, and with nothing
// else.
func TestDigest(t *testing.T) {
	read := func(over map[string]string, name string) string {
		j, err := job.ReadFS(laid(t, over), name)
		if err != nil {
			t.Fatal(err)
		}
		if len(j.Digest) != 64 {
			t.Fatalf("digest %q", j.Digest)
		}
		return j.Digest
	}
	cutterText, _ := os.ReadFile("testdata/shop/cutters/bright-130.yaml")
	first := read(map[string]string{"job.yaml": small}, "job.yaml")
	if got := read(map[string]string{"other.yaml": small}, "other.yaml"); got != first {
		t.Error("it hangs on the job's file name")
	}
	if got := read(map[string]string{"deep/in/job.yaml": small, "deep/in/engines/long-bench.yaml": part(t, "engines/long-bench.yaml"), "deep/in/cutters/bright-130.yaml": string(cutterText)}, "deep/in/job.yaml"); got != first {
		t.Error("it hangs on where the workshop stands")
	}
	if got := read(map[string]string{"job.yaml": small, "bars/fine-sine.yaml": "broken"}, "job.yaml"); got != first {
		t.Error("it hangs on a part that the job does not name")
	}
	if got := read(map[string]string{"job.yaml": small + "# more\n"}, "job.yaml"); got == first {
		t.Error("the job's text does not count")
	}
	if got := read(map[string]string{"job.yaml": small, "cutters/bright-130.yaml": string(cutterText) + "# more\n"}, "job.yaml"); got == first {
		t.Error("the cutter's text does not count")
	}
}

func part(t *testing.T, name string) string {
	t.Helper()
	text, err := os.ReadFile("testdata/shop/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestJobs(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"rings.yaml", "barleycorn.yaml", ".hidden.yaml", "notes.txt", "folder.yaml/part.yaml"} {
		path := filepath.Join(dir, name)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, nil, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	got, err := job.Jobs(dir)
	want := []string{filepath.Join(dir, "barleycorn.yaml"), filepath.Join(dir, "rings.yaml")}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, %v, want %v", got, err, want)
	}
	if _, err := job.Jobs(filepath.Join(dir, "none")); err == nil {
		t.Error("a folder that is not there has jobs")
	}
}

// What a file of the worst kind may cost: the heap stays below the limit that
// tree.go promises.
func TestMemoryIsBounded(t *testing.T) {
	for what, text := range map[string]string{
		"commas": "notes: [" + strings.Repeat("a,", 99_000) + "]",
		"keys":   "{" + strings.Repeat("a:,", 49_000) + "}",
		"lines":  strings.Repeat("- \n", 49_000),
		"notes":  strings.Repeat("- 1 #\n", 49_000),
		"points": "points: [" + strings.Repeat("[0,0],", 24_000) + "]",
	} {
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		if _, err := job.ReadFS(laid(t, map[string]string{"job.yaml": text}), "job.yaml"); err == nil {
			t.Errorf("%s: it reads", what)
		}
		runtime.ReadMemStats(&after)
		if spent := (after.TotalAlloc - before.TotalAlloc) >> 20; spent > 300 {
			t.Errorf("%s: %d MB were allocated", what, spent)
		} else {
			t.Logf("%s: %d MB allocated", what, spent)
		}
	}
}
