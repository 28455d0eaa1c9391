package web

import (
	"context"
	"io/fs"
	"net/http"
	"path"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"brightcut/engine"
	"brightcut/job"
)

// mostJobs bounds the shelf; a folder with more says how many were left out.
const mostJobs = 500

type workshop struct {
	Name       string                `json:"name"`
	FolderName string                `json:"folder_name"`
	Version    string                `json:"version"`
	Units      string                `json:"units"`
	Jobs       []shelved             `json:"jobs"`
	Parts      map[string][]partName `json:"parts"`
	Patterns   []patternView         `json:"patterns"`
	LeftOut    int                   `json:"left_out,omitempty"`
}

type shelved struct {
	ID         string    `json:"id"`
	Title      string    `json:"title"`
	Units      string    `json:"units"`
	Modified   time.Time `json:"modified"`
	Digest     string    `json:"digest,omitempty"`
	PictureURL string    `json:"picture_url,omitempty"`
	Faults     int       `json:"faults"`
	Run        string    `json:"run,omitempty"` // under way
}

type partName struct {
	ID   string `json:"id"`
	Name string `json:"name"`
}

func (s *Server) workshop(w http.ResponseWriter, r *http.Request) error {
	name := filepath.Base(s.folder)
	out := workshop{Name: name, FolderName: s.folder, Version: s.version, Units: "mm",
		Jobs: []shelved{}, Parts: map[string][]partName{}, Patterns: s.patterns.views()}
	files, err := s.jobIDs()
	if err != nil {
		return err
	}
	if n := len(files) - mostJobs; n > 0 {
		out.LeftOut, files = n, files[:mostJobs]
	}
	under := s.onTheBench(r.Context())
	var newest time.Time
	for _, id := range files {
		if r.Context().Err() != nil {
			return r.Context().Err()
		}
		one, ok := s.shelve(id)
		if !ok {
			continue
		}
		one.Run = under[id]
		out.Jobs = append(out.Jobs, one)
		if one.Modified.After(newest) {
			newest, out.Units = one.Modified, one.Units
		}
	}
	for _, folder := range partFolders {
		out.Parts[folder] = s.partNames(folder)
	}
	return answer(w, http.StatusOK, out)
}

// jobIDs lists the jobs of the folder.
func (s *Server) jobIDs() ([]string, error) {
	entries, err := fs.ReadDir(s.fsys, ".")
	if err != nil {
		return nil, newProblem(500, "server", "The folder cannot be read", "%v", err)
	}
	var ids []string
	for _, e := range entries {
		if id, ok := strings.CutSuffix(e.Name(), extension); ok && !e.IsDir() && job.ValidName(id) {
			ids = append(ids, id)
		}
	}
	return ids, nil
}

// shelve tells a job in short; ok is false when it went meanwhile.
func (s *Server) shelve(id string) (shelved, bool) {
	st, err := s.open(id)
	if err != nil {
		return shelved{}, false
	}
	one := shelved{ID: id, Title: id, Units: "mm", Faults: len(st.faults)}
	if info, err := s.root.Stat(id + extension); err == nil {
		one.Modified = info.ModTime().UTC()
	}
	if st.doc == nil {
		return one, true
	}
	for _, v := range st.doc.Values(mostValues) {
		switch {
		case v.Path == "title" && v.Text != "":
			one.Title = v.Text
		case v.Path == "units" && v.Text == "inch":
			one.Units = v.Text
		}
	}
	j, err := st.doc.Job()
	if err != nil {
		st.take(err) // anything else is no fault of the job's
		one.Faults = len(st.faults)
		return one, true
	}
	one.Digest = j.Digest
	one.PictureURL = "/api/jobs/" + id + "/picture.png?pixels=360&digest=" + j.Digest
	return one, true
}

// partNames lists the parts of a folder with what the workshop calls them.
func (s *Server) partNames(folder string) []partName {
	out := []partName{}
	entries, _ := fs.ReadDir(s.fsys, folder) // a folder that is not there holds nothing
	for _, e := range entries {
		id, ok := strings.CutSuffix(e.Name(), extension)
		if !ok || e.IsDir() || !job.ValidName(id) || len(out) == mostJobs {
			continue
		}
		file := path.Join(folder, e.Name())
		info, err := s.root.Stat(file)
		if err != nil {
			continue
		}
		type known struct {
			stamp
			name string
		}
		if k, ok := s.names.Load(file); ok && k.(known).modified.Equal(info.ModTime()) && k.(known).size == info.Size() {
			out = append(out, partName{id, k.(known).name})
			continue
		}
		name := nameIn(s.fsys, file, id)
		s.names.Store(file, known{stamp{modified: info.ModTime(), size: info.Size()}, name})
		out = append(out, partName{id, name})
	}
	return out
}

// nameIn is the name that a part's file gives it.
func nameIn(fsys fs.FS, file, other string) string {
	d, err := job.Open(fsys, file)
	if err != nil {
		return other
	}
	for _, v := range d.Values(mostValues) {
		if v.Path == "name" && v.Text != "" {
			return v.Text
		}
	}
	return other
}

// patterns are the jobs that a new one can begin from.
type patterns struct {
	fsys fs.FS
	all  []*pattern
}

type pattern struct {
	id, title, kind string
	fsys            fs.FS
	job             *job.Job
}

type patternView struct {
	ID         string `json:"id"`
	Title      string `json:"title"`
	EngineKind string `json:"engine_kind"`
	PictureURL string `json:"picture_url"`
}

func readPatterns(fsys fs.FS) (*patterns, error) {
	files, err := fs.Glob(fsys, "*"+extension)
	if err != nil {
		return nil, err
	}
	p := &patterns{fsys: fsys}
	for _, file := range files {
		j, err := job.ReadFS(fsys, file)
		if err != nil {
			return nil, err
		}
		one := &pattern{id: strings.TrimSuffix(file, extension), title: j.Title, kind: "straight line", fsys: fsys, job: j}
		if j.Setup.Engine.Kind == engine.Rose {
			one.kind = "rose"
		}
		p.all = append(p.all, one)
	}
	return p, nil
}

func (p *patterns) views() []patternView {
	out := []patternView{}
	for _, one := range p.all {
		out = append(out, patternView{one.id, one.title, one.kind, "/api/patterns/" + one.id + "/picture.png?digest=" + one.job.Digest})
	}
	return out
}

func (p *patterns) get(id string) (*pattern, error) {
	i := slices.IndexFunc(p.all, func(one *pattern) bool { return one.id == id })
	if i < 0 {
		return nil, notFound("there is no pattern %q", id)
	}
	return p.all[i], nil
}

// doc is the pattern's document; New has read it once.
func (p *pattern) doc() *job.Document {
	d, err := job.Open(p.fsys, p.id+extension)
	if err != nil {
		panic("web: a pattern that was read cannot be read: " + err.Error())
	}
	return d
}

// bring copies the parts and readings of a pattern that the workshop lacks. The folder must
// be held.
func (s *Server) bring(p *pattern, by string) error {
	for _, file := range p.doc().Files() {
		if s.exists(file) {
			continue
		}
		text, err := fs.ReadFile(p.fsys, file)
		if err != nil {
			continue // a metal that the program knows has no file, and few have calibrations
		}
		if err := s.write(file, text, by); err != nil {
			return err
		}
	}
	return nil
}

// patternPicture shows a pattern as it comes.
func (s *Server) patternPicture(w http.ResponseWriter, r *http.Request) error {
	p, err := s.patterns.get(r.PathValue("id"))
	if err != nil {
		return err
	}
	m, err := s.made.get(r.Context(), s.ctx, "pattern "+p.id, func(ctx context.Context) (*made, error) { return makeCuts(ctx, p.job) })
	if err != nil {
		return err
	}
	return s.sendPicture(w, r, p.id, m)
}
