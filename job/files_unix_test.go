//go:build unix

package job_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"brightcut/fault"
	"brightcut/job"
)

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
		"pipe.yaml":     "pipe.yaml: this is not a plain file\n    mend: name a file", // opening it would wait for ever
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
