// Package whole writes a file whole or not at all: whoever reads the name finds
// what stood there before or all of what was written, never a part.
package whole

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"path/filepath"
)

// Write calls fill with a writer onto a temporary file beside path, brings it to
// the disk and renames it to path. When anything fails, what stood at path is
// untouched and the temporary file is removed. The file's mode is 0o644 before
// the umask, or that of the file it replaces.
func Write(path string, fill func(io.Writer) error) error {
	return write(system{}, path, fill)
}

// WriteIn writes as Write does, within root and never outside it.
func WriteIn(root *os.Root, path string, fill func(io.Writer) error) error {
	return write(root, path, fill)
}

// folder is what a file is written in; *os.Root is one.
type folder interface {
	Stat(name string) (os.FileInfo, error)
	Open(name string) (*os.File, error)
	OpenFile(name string, flag int, mode os.FileMode) (*os.File, error)
	Rename(from, to string) error
	Remove(name string) error
}

// system is the whole file system.
type system struct{}

func (system) Stat(name string) (os.FileInfo, error) { return os.Stat(name) }
func (system) Open(name string) (*os.File, error)    { return os.Open(name) }
func (system) Rename(from, to string) error          { return os.Rename(from, to) }
func (system) Remove(name string) error              { return os.Remove(name) }
func (system) OpenFile(name string, flag int, mode os.FileMode) (*os.File, error) {
	return os.OpenFile(name, flag, mode)
}

func write(in folder, path string, fill func(io.Writer) error) (err error) {
	mode := os.FileMode(0o644)
	if old, err := in.Stat(path); err == nil {
		if old.IsDir() {
			return fmt.Errorf("write %s: it is a folder; name a file", path)
		}
		mode = old.Mode().Perm()
	}
	tmp, name, err := create(in, path, mode)
	if err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	defer func() {
		if err != nil {
			tmp.Close()
			in.Remove(name)
		}
	}()
	buf := bufio.NewWriterSize(tmp, 1<<16)
	if err = fill(buf); err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	for _, step := range []func() error{buf.Flush, tmp.Sync, tmp.Close} {
		if err = step(); err != nil {
			return fmt.Errorf("write %s: %w", path, cause(err))
		}
	}
	if err = in.Rename(name, path); err != nil {
		return fmt.Errorf("write %s: %w", path, cause(err))
	}
	syncFolder(in, filepath.Dir(path))
	return nil
}

// create makes a new file beside path. os.CreateTemp is no use here: its mode
// ignores the umask that the user chose.
func create(in folder, path string, mode os.FileMode) (*os.File, string, error) {
	for n := 0; ; n++ {
		name := fmt.Sprintf("%s.part%d", path, n)
		f, err := in.OpenFile(name, os.O_CREATE|os.O_EXCL|os.O_WRONLY, mode)
		if !os.IsExist(err) || n == 100 {
			return f, name, err
		}
	}
}

// cause leaves out the temporary file's name, which the user never gave.
func cause(err error) error {
	switch e := err.(type) {
	case *os.PathError:
		return e.Err
	case *os.LinkError:
		return e.Err
	}
	return err
}

// syncFolder brings the new name itself to the disk. Some systems cannot sync a
// folder; the file is whole either way.
func syncFolder(in folder, dir string) {
	if d, err := in.Open(dir); err == nil {
		d.Sync()
		d.Close()
	}
}
