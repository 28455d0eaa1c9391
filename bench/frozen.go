package bench

import (
	"archive/zip"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"maps"
	"slices"
	"strconv"

	"brightcut/job"
)

// What a frozen job may hold at most. A job of a workshop reads a dozen files of
// a few kilobytes; readings may have megabytes.
const (
	mostFiles  = 200
	mostFrozen = 64 << 20 // bytes, together
)

// Frozen is a job with every file that reading it took, as they were read. A run
// goes by it, whatever becomes of the files.
type Frozen struct {
	Name   string // of the job's file in the workshop's folder
	Digest string // SHA-256 over names and contents of all the files, hex

	files map[string][]byte
	fsys  fs.FS
}

// Freeze reads a job with all the files that it takes and keeps them. The error is
// that of reading the job.
func Freeze(fsys fs.FS, name string) (*Frozen, error) {
	r := &recorder{fsys: fsys, files: map[string][]byte{}}
	if _, err := job.ReadFS(r, name); err != nil {
		return nil, err
	}
	f, err := thaw(name, r.files)
	if err != nil {
		return nil, fmt.Errorf("freeze %s: %w", name, err)
	}
	return f, nil
}

// thaw makes a frozen job of its files.
func thaw(name string, files map[string][]byte) (*Frozen, error) {
	if _, ok := files[name]; !ok {
		return nil, fmt.Errorf("the job's own file is not among its files")
	}
	var packed bytes.Buffer
	z := zip.NewWriter(&packed)
	sum := sha256.New()
	for _, file := range slices.Sorted(maps.Keys(files)) {
		text := files[file]
		io.WriteString(sum, strconv.Itoa(len(file))+":"+file+strconv.Itoa(len(text))+":")
		sum.Write(text)
		w, err := z.CreateHeader(&zip.FileHeader{Name: file, Method: zip.Store})
		if err == nil {
			_, err = w.Write(text)
		}
		if err != nil {
			return nil, err
		}
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	fsys, err := zip.NewReader(bytes.NewReader(packed.Bytes()), int64(packed.Len()))
	if err != nil {
		return nil, err
	}
	return &Frozen{Name: name, Digest: hex.EncodeToString(sum.Sum(nil)), files: files, fsys: fsys}, nil
}

// FS returns the workshop's folder as far as the job reads it.
func (f *Frozen) FS() fs.FS { return f.fsys }

// Job reads the frozen job.
func (f *Frozen) Job() (*job.Job, error) { return job.ReadFS(f.fsys, f.Name) }

// recorder keeps what is read of a folder, and gives the same again whatever
// becomes of it.
type recorder struct {
	fsys  fs.FS
	files map[string][]byte
	size  int
}

// Open opens a file of the folder.
func (r *recorder) Open(name string) (fs.File, error) {
	f, err := r.fsys.Open(name)
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err != nil || !info.Mode().IsRegular() {
		return f, err
	}
	text, ok := r.files[name]
	if !ok {
		left := mostFrozen - r.size
		if text, err = io.ReadAll(io.LimitReader(f, int64(left)+1)); err == nil && (len(text) > left || len(r.files) == mostFiles) {
			err = fmt.Errorf("the files of a job have more than %d MB together, or are more than %d", mostFrozen>>20, mostFiles)
		}
		if err != nil {
			f.Close()
			return nil, &fs.PathError{Op: "open", Path: name, Err: err}
		}
		r.files[name] = text
		r.size += len(text)
	}
	return &recorded{f, bytes.NewReader(text)}, nil
}

// Stat looks without opening: a pipe would wait for its writer.
func (r *recorder) Stat(name string) (fs.FileInfo, error) { return fs.Stat(r.fsys, name) }

// ReadDir lists a folder, for suggestions of names.
func (r *recorder) ReadDir(name string) ([]fs.DirEntry, error) { return fs.ReadDir(r.fsys, name) }

// recorded is a file of which the text was kept.
type recorded struct {
	fs.File
	text *bytes.Reader
}

// Read reads what was kept.
func (f *recorded) Read(p []byte) (int, error) { return f.text.Read(p) }
