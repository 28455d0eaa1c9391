package whole

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestWriteReplacesWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.yaml")
	for _, text := range []string{"first", "second, longer", ""} {
		if err := Write(path, func(w io.Writer) error { _, err := io.WriteString(w, text); return err }); err != nil {
			t.Fatal(err)
		}
		if got, _ := os.ReadFile(path); string(got) != text {
			t.Fatalf("read %q, wrote %q", got, text)
		}
	}
	onlyFile(t, path)
}

func TestAFailureLeavesTheOldFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.yaml")
	if err := os.WriteFile(path, []byte("old"), 0o600); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("the pen broke")
	err := Write(path, func(w io.Writer) error {
		io.WriteString(w, strings.Repeat("half ", 1<<16)) // more than any buffer
		return broken
	})
	if !errors.Is(err, broken) {
		t.Fatalf("error %v does not wrap the cause", err)
	}
	if got, _ := os.ReadFile(path); string(got) != "old" {
		t.Fatalf("the old file became %.20q", got)
	}
	onlyFile(t, path)
}

func TestDiskFull(t *testing.T) {
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("no /dev/full on this system")
	}
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer full.Close()
	path := filepath.Join(t.TempDir(), "sheet.pdf")
	err = Write(path, func(io.Writer) error { _, err := full.Write([]byte("x")); return err })
	if err == nil || !strings.Contains(err.Error(), "no space left") {
		t.Fatalf("got %v, want the disk to be full", err)
	}
	if strings.Contains(err.Error(), ".part") {
		t.Errorf("%v names a file that the user never gave", err)
	}
	if _, err := os.Stat(path); !os.IsNotExist(err) {
		t.Error("something was left behind")
	}
}

func TestModeIsKept(t *testing.T) {
	path := filepath.Join(t.TempDir(), "job.yaml")
	os.WriteFile(path, nil, 0o600)
	if err := Write(path, func(io.Writer) error { return nil }); err != nil {
		t.Fatal(err)
	}
	if s, _ := os.Stat(path); s.Mode().Perm() != 0o600 {
		t.Errorf("mode became %v", s.Mode())
	}
}

func TestMessages(t *testing.T) {
	dir := t.TempDir()
	nothing := func(io.Writer) error { return nil }
	if err := Write(dir, nothing); err == nil || !strings.Contains(err.Error(), "it is a folder") {
		t.Errorf("a folder: %v", err)
	}
	missing := filepath.Join(dir, "none", "a.png")
	if err := Write(missing, nothing); err == nil || err.Error() != "write "+missing+": no such file or directory" {
		t.Errorf("no folder: %v", err)
	}
}

// onlyFile fails when anything but path stands in its folder.
func onlyFile(t *testing.T, path string) {
	t.Helper()
	all, _ := os.ReadDir(filepath.Dir(path))
	if len(all) != 1 {
		t.Errorf("left behind: %v", all)
	}
}
