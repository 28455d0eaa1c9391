package web

import (
	"net/http"
	"slices"
	"strings"

	"brightcut/fault"
	"brightcut/job"
)

type partView struct {
	Kind     string      `json:"kind"`
	ID       string      `json:"id"`
	Name     string      `json:"name"`
	Text     string      `json:"text"`
	Revision string      `json:"revision"`
	Values   []job.Value `json:"values"`
	Faults   []told      `json:"faults"`
	UsedBy   []string    `json:"used_by"`
}

func (s *Server) getPart(w http.ResponseWriter, r *http.Request) error {
	return s.answerPart(w, http.StatusOK, r.PathValue("kind"), r.PathValue("name"))
}

func (s *Server) answerPart(w http.ResponseWriter, status int, folder, name string) error {
	file, err := partFile(folder, name)
	if err != nil {
		return err
	}
	text, err := s.read(file)
	if err != nil {
		return err
	}
	kind := strings.TrimSuffix(folder, "s")
	v := partView{Kind: folder, ID: name, Name: nameIn(s.fsys, file, name), Text: string(text), Revision: revisionOf(text),
		Values: []job.Value{}, UsedBy: s.usedBy(kind, name)}
	if d, err := job.Open(s.fsys, file); err == nil {
		v.Values = d.Values(mostValues)
	}
	var faults fault.List = job.CheckPart(s.fsys, kind, name)
	v.Faults = tell(faults, nil)
	return answer(w, status, v)
}

// usedBy lists the jobs that name a part.
func (s *Server) usedBy(kind, name string) []string {
	out := []string{}
	ids, _ := s.jobIDs() // a folder that cannot be read has none to tell
	for _, id := range ids {
		st, err := s.open(id)
		if err != nil || st.doc == nil {
			continue
		}
		if slices.ContainsFunc(st.doc.Names(), func(n job.Named) bool { return n.Kind == kind && n.Name == name }) {
			out = append(out, id)
		}
	}
	return out
}

func (s *Server) putPart(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Text     string `json:"text"`
		Revision string `json:"if_revision"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	folder, name := r.PathValue("kind"), r.PathValue("name")
	file, err := partFile(folder, name)
	if err != nil {
		return err
	}
	if err := s.save(file, []byte(body.Text), body.Revision, clientOf(r)); err != nil {
		return err
	}
	return s.answerPart(w, http.StatusOK, folder, name)
}

// setPart changes one value of a part's file.
func (s *Server) setPart(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Field    string `json:"field"`
		Value    string `json:"value"`
		Revision string `json:"if_revision"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	folder, name := r.PathValue("kind"), r.PathValue("name")
	file, err := partFile(folder, name)
	if err != nil {
		return err
	}
	if err := s.setIn(file, body.Field, body.Value, body.Revision, clientOf(r)); err != nil {
		return err
	}
	return s.answerPart(w, http.StatusOK, folder, name)
}

func (s *Server) setIn(file, field, value, revision, by string) error {
	s.folderM.Lock()
	defer s.folderM.Unlock()
	text, err := s.read(file)
	if err != nil {
		return err
	}
	if is := revisionOf(text); is != revision {
		return conflict(text, is)
	}
	d, err := job.Open(s.fsys, file)
	if err != nil {
		return cannot(err)
	}
	if err := d.Set(field, value); err != nil {
		return cannot(err)
	}
	return s.write(file, d.Text(), by)
}

// newPart makes a part by copying one.
func (s *Server) newPart(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Name string `json:"name"`
		From string `json:"from"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	folder := r.PathValue("kind")
	id, err := s.copyPart(folder, body.From, body.Name, clientOf(r))
	if err != nil {
		return err
	}
	w.Header().Set("Location", "/api/parts/"+folder+"/"+id)
	return s.answerPart(w, http.StatusCreated, folder, id)
}

func (s *Server) copyPart(folder, from, name, by string) (string, error) {
	if from == "" {
		all := s.partNames(folder)
		if len(all) == 0 {
			return "", notFound("the workshop has no %s to copy; begin a job from a pattern, which brings its own", folder)
		}
		from = all[0].ID
	}
	file, err := partFile(folder, from)
	if err != nil {
		return "", err
	}
	s.folderM.Lock()
	defer s.folderM.Unlock()
	if _, err := s.read(file); err != nil {
		return "", err
	}
	d, err := job.Open(s.fsys, file)
	if err != nil {
		return "", cannot(err)
	}
	id, err := s.freePart(folder, name)
	if err != nil {
		return "", err
	}
	if err := d.Set("name", name); err != nil {
		return "", cannot(err)
	}
	return id, s.write(folder+"/"+id+extension, d.Text(), by)
}

func (s *Server) deletePart(w http.ResponseWriter, r *http.Request) error {
	folder, name := r.PathValue("kind"), r.PathValue("name")
	file, err := partFile(folder, name)
	if err != nil {
		return err
	}
	s.folderM.Lock()
	defer s.folderM.Unlock()
	if used := s.usedBy(strings.TrimSuffix(folder, "s"), name); len(used) > 0 {
		return newProblem(http.StatusConflict, "exists", "The part is in use", "%s needs it; give those jobs another part first", strings.Join(used, ", "))
	}
	tid, err := s.throw(folder, name, file, clientOf(r))
	if err != nil {
		return err
	}
	return answer(w, http.StatusOK, map[string]string{"trash_id": tid})
}
