package bench

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
)

// countOnASmallDisk counts on a disk of its own that is nearly full.
func countOnASmallDisk(folder string) error {
	if err := syscall.Mount("none", folder, "tmpfs", 0, "size=12m"); err != nil {
		fmt.Println("no disk:", err)
		return nil
	}
	defer syscall.Unmount(folder, syscall.MNT_DETACH)
	filler := filepath.Join(folder, "filler")
	return countUntilRefused(folder, func() error {
		f, err := os.Create(filler)
		if err != nil {
			return err
		}
		defer f.Close()
		size := int64(0)
		for err == nil {
			var n int
			n, err = f.Write(make([]byte, 4096))
			size += int64(n)
		}
		return f.Truncate(size - 300_000)
	}, func() error { return os.Remove(filler) })
}

// A disk that is full: said at once, and with room again it goes on.
func TestDiskFull(t *testing.T) {
	c := child("full", t.TempDir())
	c.SysProcAttr = &syscall.SysProcAttr{Cloneflags: syscall.CLONE_NEWNS | syscall.CLONE_NEWUSER, UidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getuid(), Size: 1}}, GidMappings: []syscall.SysProcIDMap{{ContainerID: 0, HostID: os.Getgid(), Size: 1}}}
	out, err := c.Output()
	switch {
	case err != nil && len(out) == 0:
		t.Skipf("no disk of its own can be had here: %v", err)
	case err != nil:
		t.Fatalf("%v: %s", err, out)
	case strings.HasPrefix(string(out), "no disk"):
		t.Skip(strings.TrimSpace(string(out)))
	case !strings.Contains(string(out), "the disk is full"):
		t.Fatal(string(out))
	}
}
