package job_test

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"testing/fstest"

	"brightcut/fault"
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

// What is no file, or too much of one, is refused before it is read.
func TestFilesThatAreNone(t *testing.T) {
	dir := t.TempDir()
	path := func(name string) string { return filepath.Join(dir, name) }
	must := func(err error) {
		if err != nil {
			t.Fatal(err)
		}
	}
	must(os.CopyFS(dir, os.DirFS("testdata/shop")))
	must(os.Mkdir(path("folder.yaml"), 0o755))
	must(os.WriteFile(path("closed.yaml"), []byte(small), 0))
	must(os.WriteFile(path("large.yaml"), []byte(small+"# "+strings.Repeat("x", 1<<20)), 0o644))
	must(os.WriteFile(path("latin.yaml"), []byte("title: Z\xe4hlen\n"), 0o644))
	must(os.WriteFile(path("utf16.yaml"), []byte("\xff\xfet\x00i\x00"), 0o644))
	must(os.WriteFile(path("escape.yaml"), []byte("title: \x1b[2J\n"), 0o644))
	must(os.WriteFile(path("mac.yaml"), []byte("title: one\rdepth: 3\r"), 0o644))
	must(os.WriteFile(path("commas.yaml"), []byte("notes: ["+strings.Repeat("a,", 100_000)+"]"), 0o644))
	must(os.WriteFile(path("huge.yaml"), nil, 0o644))
	must(os.Truncate(path("huge.yaml"), 2<<30))
	must(os.WriteFile(path("deep.yaml"), []byte("a: "+strings.Repeat("[", 50)+strings.Repeat("]", 50)), 0o644))
	must(os.WriteFile(path("deeper.yaml"), []byte("a: "+strings.Repeat("[", 30_000)), 0o644))
	outside := filepath.Join(t.TempDir(), "outside.yaml")
	must(os.WriteFile(outside, []byte("included: 130\nclearance: 15\n"), 0o644))
	must(os.Symlink(outside, path("cutters/linked.yaml")))
	must(os.WriteFile(path("linked.yaml"), []byte(strings.Replace(small, "bright-130", "linked", 1)), 0o644))
	must(syscall.Mkfifo(path("pipe.yaml"), 0o644))

	for name, want := range map[string]string{
		"none.yaml":     "none.yaml: there is no such file\n    mend: look at the name and the folder",
		"none/job.yaml": "none/job.yaml: the folder cannot be read: no such file or directory\n    mend: look at the name and the folder",
		"folder.yaml":   "folder.yaml: this is a folder, not a file\n    mend: name a file in it",
		"pipe.yaml":     "pipe.yaml: this is not a plain file\n    mend: name a file",
		"closed.yaml":   "closed.yaml: the file may not be read\n    mend: give yourself the right to read it",
		"large.yaml":    "large.yaml: the file has 1048735 bytes, more than the 1048576 allowed\n    mend: draw edges and outlines with fewer points",
		"huge.yaml":     "huge.yaml: the file has 2147483648 bytes, more than the 1048576 allowed\n    mend: draw edges and outlines with fewer points",
		"commas.yaml":   "commas.yaml: the file holds about 100003 values, more than the 100000 allowed\n    mend: draw edges and outlines with fewer points",
		"latin.yaml":    "latin.yaml:1:9: the file is not UTF-8 text\n    1 | title: Z\ufffdhlen\n    mend: save it as UTF-8",
		"utf16.yaml":    "utf16.yaml:1:1: the file is not UTF-8 text\n    1 | \ufffd\ufffdt\ufffdi\ufffd\n    mend: save it as UTF-8",
		"escape.yaml":   "escape.yaml:1:8: a control character (U+001B) stands here\n    1 | title: \ufffd[2J\n    mend: delete it; end lines with a line feed",
		"mac.yaml":      "mac.yaml:1:11: a control character (U+000D) stands here\n    1 | title: one\ufffddepth: 3\n    mend: delete it; end lines with a line feed",
		"deep.yaml":     "deep.yaml:1:44: mappings and lists stand too deep inside one another\n    1 | a: " + strings.Repeat("[", 50) + strings.Repeat("]", 50) + "\n    mend: stay within 40 levels",
		"linked.yaml":   "linked.yaml:4:9: cutter: cutters/linked.yaml: the file cannot be read: path escapes from parent\n    4 | cutter: linked\n    mend: keep the workshop's files in its own folder",
	} {
		if name == "closed.yaml" && os.Geteuid() == 0 {
			continue // root may read everything
		}
		_, err := job.Read(path(name))
		var l fault.List
		if !errors.As(err, &l) {
			t.Errorf("%s: got %v, want faults", name, err)
			continue
		}
		if got := strings.TrimPrefix(l.Error(), dir+"/"); got != want {
			t.Errorf("%s:\n got %s\nwant %s", name, got, want)
		}
	}
	if _, err := job.Read(path("deeper.yaml")); err == nil || !strings.Contains(err.Error(), "too deep") {
		t.Errorf("deeper.yaml: %v", err)
	}
	if _, err := job.Read(dir); err == nil || !strings.Contains(err.Error(), "this is a folder") {
		t.Errorf("the workshop itself: %v", err)
	}
	if _, err := job.Read(""); err == nil {
		t.Error("no path was read")
	}
	if _, err := job.ReadFS(os.DirFS(dir), "../job.yaml"); err == nil || !strings.Contains(err.Error(), "not a path of the workshop") {
		t.Errorf("a way out: %v", err)
	}
	if _, err := os.Stat("/dev/zero"); err == nil {
		if _, err := job.Read("/dev/zero"); err == nil || !strings.Contains(err.Error(), "not a plain file") {
			t.Errorf("/dev/zero: %v", err)
		}
	}
}

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
	got, err := job.Jobs("testdata/shop")
	want := []string{filepath.Join("testdata/shop", "barleycorn.yaml"), filepath.Join("testdata/shop", "rings.yaml")}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("got %v, %v, want %v", got, err, want)
	}
	if _, err := job.Jobs("testdata/none"); err == nil {
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
