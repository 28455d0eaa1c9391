package web

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"slices"
	"strings"
	"time"

	"brightcut/internal/whole"
	"brightcut/job"
)

const extension = ".yaml"

// mostText is the largest file of a workshop that job reads, in bytes.
const mostText = 1 << 20

// partFolders are the folders of a workshop's parts, in the plural as the API
// names their kinds.
var partFolders = []string{"engines", "bars", "rosettes", "cutters", "guides", "metals"}

// revisionOf names a text.
func revisionOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:8])
}

// jobFile is the file of a job, or an error when no job can have the name.
func jobFile(id string) (string, error) {
	if !job.ValidName(id) {
		return "", notFound("no job can be called %q", id)
	}
	return id + extension, nil
}

func partFile(kind, name string) (string, error) {
	if !slices.Contains(partFolders, kind) {
		return "", notFound("there are no parts called %q; there are %s", kind, strings.Join(partFolders, ", "))
	}
	if !job.ValidName(name) {
		return "", notFound("no part can be called %q", name)
	}
	return kind + "/" + name + extension, nil
}

// read returns the text of a file of the folder.
func (s *Server) read(file string) ([]byte, error) {
	info, err := s.root.Stat(file) // before it is opened: a pipe would wait for its writer
	if errors.Is(err, fs.ErrNotExist) {
		return nil, notFound("%s is not in the workshop", file)
	}
	if err != nil {
		return nil, newProblem(500, "server", "The file cannot be read", "%s: %v", file, err)
	}
	if !info.Mode().IsRegular() {
		return nil, notFound("%s is no plain file", file)
	}
	if info.Size() > mostText {
		return nil, newProblem(422, "faults", "The file is too large", "%s has %d bytes, more than %d", file, info.Size(), mostText)
	}
	f, err := s.root.Open(file)
	if err != nil {
		return nil, newProblem(500, "server", "The file cannot be read", "%s: %v", file, err)
	}
	defer f.Close()
	text, err := io.ReadAll(io.LimitReader(f, mostText+1))
	if err == nil && len(text) > mostText {
		err = fmt.Errorf("it has more than %d bytes", mostText)
	}
	if err != nil {
		return nil, newProblem(500, "server", "The file cannot be read", "%s: %v", file, err)
	}
	return text, nil
}

// write puts a file into the folder, whole or not at all, and tells the pages.
// The folder must be held.
func (s *Server) write(file string, text []byte, by string) error {
	if len(text) > mostText && path.Dir(file) != readings {
		return newProblem(413, "request", "The file would be too large", "%d bytes are more than the %d that a file may have", len(text), mostText)
	}
	if dir := path.Dir(file); dir != "." {
		if err := s.root.MkdirAll(dir, 0o755); err != nil {
			return err
		}
	}
	if err := whole.WriteIn(s.root, file, func(w io.Writer) error { _, err := w.Write(text); return err }); err != nil {
		return err
	}
	s.note(file, by)
	return nil
}

// stamp is how a file was when it was last looked at.
type stamp struct {
	modified time.Time
	size     int64
	revision string
}

// look lists the files of the workshop. What has the time and size it had in
// before is not read again.
func (s *Server) look(before map[string]stamp) map[string]stamp {
	now := map[string]stamp{}
	for _, dir := range slices.Concat([]string{".", readings, "calibrations"}, partFolders) {
		entries, _ := fs.ReadDir(s.fsys, dir) // a folder that is not there holds nothing
		for _, e := range entries {
			name, ok := strings.CutSuffix(e.Name(), extensionIn(dir))
			if !ok || e.IsDir() || !job.ValidName(name) || len(now) >= mostFiles {
				continue
			}
			file := path.Join(dir, e.Name())
			info, err := s.root.Stat(file)
			if err != nil || !info.Mode().IsRegular() {
				continue
			}
			if was, ok := before[file]; ok && was.modified.Equal(info.ModTime()) && was.size == info.Size() {
				now[file] = was
				continue
			}
			if is, ok := s.stamp(file, info); ok {
				now[file] = is
			}
		}
	}
	return now
}

// stamp tells how a file is. Readings may be large, and go by time and size.
func (s *Server) stamp(file string, info fs.FileInfo) (stamp, bool) {
	if path.Dir(file) == readings {
		return stamp{info.ModTime(), info.Size(), revisionOf(fmt.Appendln(nil, info.ModTime().UnixNano(), info.Size()))}, true
	}
	text, err := s.read(file)
	return stamp{info.ModTime(), info.Size(), revisionOf(text)}, err == nil
}

// readings is the folder of indicator readings.
const readings = "readings"

func extensionIn(folder string) string {
	if folder == readings {
		return ".csv"
	}
	return extension
}

// mostFiles bounds what is watched.
const mostFiles = 5000

// watch looks at the folder again and again, and tells what others changed.
func (s *Server) watch(every time.Duration) {
	defer close(s.watched)
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-s.ctx.Done():
			return
		case <-tick.C:
			s.folderM.Lock()
			now := s.look(s.seen)
			for file, is := range now {
				if was, ok := s.seen[file]; !ok || was.revision != is.revision {
					s.tellChanged(file, is.revision, "")
				}
			}
			for file := range s.seen {
				if _, ok := now[file]; !ok {
					s.tellChanged(file, "", "")
				}
			}
			s.seen = now
			s.folderM.Unlock()
		}
	}
}

// note remembers a file as the server left it and tells the pages. The folder
// must be held.
func (s *Server) note(file, by string) {
	info, err := s.root.Stat(file)
	if errors.Is(err, fs.ErrNotExist) {
		delete(s.seen, file)
		s.tellChanged(file, "", by)
		return
	}
	if err != nil {
		return // the watcher will see it
	}
	if is, ok := s.stamp(file, info); ok {
		s.seen[file] = is
		s.tellChanged(file, is.revision, by)
	}
}

// tellChanged tells the pages of a file; without a revision it is gone.
func (s *Server) tellChanged(file, revision, by string) {
	s.age.Add(1)
	dir, base := path.Split(file)
	id := strings.TrimSuffix(base, path.Ext(base))
	switch {
	case dir != "":
		s.hub.tell(event{name: "part", data: changed{ID: id, Kind: strings.TrimSuffix(dir, "/"), Revision: revision, By: by}})
	case revision == "":
		s.hub.tell(event{name: "gone", data: changed{ID: id, By: by}})
	default:
		s.hub.tell(event{name: "job", data: changed{ID: id, Revision: revision, By: by}})
	}
}

// exists says whether something has the name in the folder.
func (s *Server) exists(file string) bool {
	_, err := s.root.Lstat(file)
	return err == nil || !errors.Is(err, os.ErrNotExist)
}
