package web

import (
	"crypto/rand"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"path"
	"slices"
	"strings"
	"time"

	"brightcut/job"
)

// trash is the folder within the workshop that deleted files go to. A file in it
// is called time-random~kind~name.yaml, so that it says where it came from.
const trash = ".trash"

// mostTrash is how many deleted files are listed, newest first.
const mostTrash = 500

// throw takes a file out of the workshop; a job has kind "jobs". The folder must
// be held.
func (s *Server) throw(kind, id, file, by string) (string, error) {
	if info, err := s.root.Lstat(file); err != nil || info.IsDir() {
		return "", notFound("%s is not in the workshop", file)
	}
	if err := s.root.MkdirAll(trash, 0o755); err != nil {
		return "", err
	}
	tid := time.Now().UTC().Format("20060102T150405.000") + "-" + rand.Text()[:6] + "~" + kind + "~" + id
	if err := s.root.Rename(file, path.Join(trash, tid+extension)); err != nil {
		return "", err
	}
	s.note(file, by)
	return tid, nil
}

func (s *Server) deleteJob(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	file, err := jobFile(id)
	if err != nil {
		return err
	}
	s.folderM.Lock()
	defer s.folderM.Unlock()
	tid, err := s.throw("jobs", id, file, clientOf(r))
	if err != nil {
		return err
	}
	return answer(w, http.StatusOK, map[string]string{"trash_id": tid})
}

type thrown struct {
	TrashID string    `json:"trash_id"`
	Kind    string    `json:"kind"`
	ID      string    `json:"id"`
	Title   string    `json:"title"`
	Deleted time.Time `json:"deleted"`
}

// parseTrash takes the name of a deleted file apart.
func parseTrash(tid string) (t thrown, ok bool) {
	fields := strings.SplitN(tid, "~", 3)
	if len(fields) != 3 || strings.ContainsAny(tid, `/\`) || !job.ValidName(fields[2]) {
		return t, false
	}
	when, _, _ := strings.Cut(fields[0], "-")
	at, err := time.Parse("20060102T150405.000", when)
	if err != nil || fields[1] != "jobs" && !slices.Contains(partFolders, fields[1]) {
		return t, false
	}
	return thrown{TrashID: tid, Kind: fields[1], ID: fields[2], Title: fields[2], Deleted: at}, true
}

func (s *Server) listTrash(w http.ResponseWriter, _ *http.Request) error {
	entries, err := fs.ReadDir(s.fsys, trash)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	items := []thrown{}
	for _, e := range slices.Backward(entries) { // names begin with the time
		t, ok := parseTrash(strings.TrimSuffix(e.Name(), extension))
		if !ok || len(items) == mostTrash {
			continue
		}
		if d, err := job.Open(s.fsys, path.Join(trash, e.Name())); err == nil {
			for _, v := range d.Values(mostValues) {
				if (v.Path == "title" || v.Path == "name") && v.Text != "" {
					t.Title = v.Text
				}
			}
		}
		items = append(items, t)
	}
	return answer(w, http.StatusOK, map[string]any{"items": items})
}

// restore puts a deleted file back, under another name when its own is taken.
func (s *Server) restore(w http.ResponseWriter, r *http.Request) error {
	t, ok := parseTrash(r.PathValue("id"))
	if !ok {
		return notFound("nothing in the trash is called %q", r.PathValue("id"))
	}
	from := path.Join(trash, t.TrashID+extension)
	s.folderM.Lock()
	defer s.folderM.Unlock()
	if !s.exists(from) {
		return notFound("it is no longer in the trash")
	}
	dir := ""
	if t.Kind != "jobs" {
		dir = t.Kind
		if err := s.root.MkdirAll(dir, 0o755); err != nil {
			return err
		}
	}
	id := t.ID
	for n := 2; s.exists(path.Join(dir, id+extension)); n++ {
		id = fmt.Sprintf("%s-%d", t.ID, n)
	}
	file := path.Join(dir, id+extension)
	if err := s.root.Rename(from, file); err != nil {
		return err
	}
	s.note(file, clientOf(r))
	return answer(w, http.StatusOK, map[string]string{"kind": t.Kind, "id": id})
}
