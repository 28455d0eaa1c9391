package web

import (
	"fmt"
	"net/http"
	"strconv"

	"brightcut/job"
)

func (s *Server) getJob(w http.ResponseWriter, r *http.Request) error {
	return s.answerJob(w, r, http.StatusOK, r.PathValue("id"))
}

func (s *Server) answerJob(w http.ResponseWriter, r *http.Request, status int, id string) error {
	st, err := s.state(r.Context(), id)
	if err != nil {
		return err
	}
	return answer(w, status, s.view(st))
}

// conflict is answered when the file is not the one that the page knows.
func conflict(text []byte, revision string) *problem {
	p := newProblem(http.StatusConflict, "conflict", "The file was changed elsewhere", "it is at revision %s", revision)
	whole := string(text)
	p.Text, p.Revision = &whole, revision
	return p
}

// change carries out a change of a job's document and saves it.
func (s *Server) change(id, revision, by string, do func(*state) error) error {
	if revision == "" {
		return badRequest("say with if_revision which text is to be changed")
	}
	s.folderM.Lock()
	defer s.folderM.Unlock()
	st, err := s.open(id)
	if err != nil {
		return err
	}
	if st.revision != revision {
		return conflict(st.text, st.revision)
	}
	if st.doc == nil {
		return st.problem()
	}
	if err := do(st); err != nil {
		return err
	}
	return s.write(id+extension, st.doc.Text(), by)
}

func (s *Server) putJob(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	var body struct {
		Text     string `json:"text"`
		Revision string `json:"if_revision"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	file, err := jobFile(id)
	if err != nil {
		return err
	}
	err = s.save(file, []byte(body.Text), body.Revision, clientOf(r))
	if err != nil {
		return err
	}
	return s.answerJob(w, r, http.StatusOK, id)
}

// save writes a text in the place of the one that has the revision; an empty
// revision is a file that is not there yet.
func (s *Server) save(file string, text []byte, revision, by string) error {
	if err := job.CheckText(file, text); err != nil {
		return cannot(err)
	}
	s.folderM.Lock()
	defer s.folderM.Unlock()
	if revision == "" {
		if s.exists(file) {
			return newProblem(http.StatusConflict, "exists", "The name is taken", "%s is in the workshop already", file)
		}
		return s.write(file, text, by)
	}
	old, err := s.read(file)
	if err != nil {
		return err
	}
	if is := revisionOf(old); is != revision {
		return conflict(old, is)
	}
	return s.write(file, text, by)
}

// setBody is a change of one value.
type setBody struct {
	Field    string `json:"field"`
	Value    string `json:"value"`
	Revision string `json:"if_revision"`
	Scope    string `json:"scope"`
	PartName string `json:"part_name"`
}

func (s *Server) setField(w http.ResponseWriter, r *http.Request) error {
	var body setBody
	if err := ask(w, r, &body); err != nil {
		return err
	}
	id := r.PathValue("id")
	err := s.change(id, body.Revision, clientOf(r), func(st *state) error {
		set := func(d *job.Document, field string) error { return d.Set(field, body.Value) }
		return s.within(st, body.Field, body.Scope, body.PartName, clientOf(r), set)
	})
	if err != nil {
		return err
	}
	return s.answerJob(w, r, http.StatusOK, id)
}

// within carries out a change where the field stands: in the job's document, or
// in that of the part it leads into, or in a copy of that part.
func (s *Server) within(st *state, field, scope, copyName, by string, do func(d *job.Document, field string) error) error {
	kind, name, inner, ok := st.doc.Part(field)
	if !ok {
		if err := do(st.doc, field); err != nil {
			return cannot(err)
		}
		return nil
	}
	folder := kind + "s"
	file, err := partFile(folder, name)
	if err != nil {
		return err
	}
	switch scope {
	case "part", "copy":
	case "":
		p := newProblem(http.StatusConflict, "in-part", "The value stands in a part's own file",
			"%s is in %s; say whether to change the part or a copy of it", field, file)
		p.Part = &inPart{folder, name, inner, s.usedBy(kind, name)}
		return p
	default:
		return badRequest("scope is part or copy, not %q", scope)
	}
	d, err := job.Open(s.fsys, file)
	if err != nil {
		return cannot(err)
	}
	if err := do(d, inner); err != nil {
		return cannot(err)
	}
	if scope == "part" {
		return s.write(file, d.Text(), by)
	}
	to, err := s.freePart(folder, copyName)
	if err != nil {
		return err
	}
	to, copyID := folder+"/"+to+extension, to
	if err := d.Set("name", copyName); err != nil {
		return cannot(err)
	}
	if err := st.doc.Set(field[:len(field)-len(inner)-1], copyID); err != nil {
		return cannot(err)
	}
	return s.write(to, d.Text(), by)
}

// freePart makes the name of a file that no part has yet out of what a person
// calls it.
func (s *Server) freePart(folder, name string) (string, error) {
	id := job.FileName(name)
	if id == "" || !job.ValidName(id) {
		return "", badRequest("%q makes no name; give the new part one of letters or digits", name)
	}
	if s.exists(folder + "/" + id + extension) {
		return "", newProblem(http.StatusConflict, "exists", "The name is taken", "%s/ has %s already; choose another name", folder, id)
	}
	return id, nil
}

func (s *Server) editJob(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Op       string `json:"op"`
		Path     string `json:"path"`
		Value    string `json:"value"`
		To       string `json:"to"`
		Count    int    `json:"count"`
		Revision string `json:"if_revision"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	id := r.PathValue("id")
	err := s.change(id, body.Revision, clientOf(r), func(st *state) error {
		d := st.doc
		var err error
		switch body.Op {
		case "insert":
			err = d.Insert(body.Path, body.Value)
		case "put":
			err = d.Put(body.Path, body.Value)
		case "remove":
			err = d.Remove(body.Path)
		case "move":
			err = d.Move(body.Path, body.To)
		case "duplicate":
			err = d.Duplicate(body.Path)
		case "repeat":
			times, bad := strconv.Atoi(body.Value)
			if bad != nil {
				return badRequest("value is how often to repeat, a whole number")
			}
			err = d.Repeat(body.Path, body.Count, times)
		case "unroll":
			err = d.Unroll(body.Path)
		default:
			return badRequest("op is insert, put, remove, move, duplicate, repeat or unroll, not %q", body.Op)
		}
		if err != nil {
			return cannot(err)
		}
		return nil
	})
	if err != nil {
		return err
	}
	return s.answerJob(w, r, http.StatusOK, id)
}

// newJob begins a job from a pattern or another job.
func (s *Server) newJob(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		From struct {
			Pattern string `json:"pattern"`
			Job     string `json:"job"`
		} `json:"from"`
		Title string `json:"title"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	if (body.From.Pattern == "") == (body.From.Job == "") {
		return badRequest("name a pattern or a job to begin from")
	}
	by := clientOf(r)
	id, err := s.begin(body.From.Pattern, body.From.Job, body.Title, by)
	if err != nil {
		return err
	}
	w.Header().Set("Location", "/api/jobs/"+id)
	return s.answerJob(w, r, http.StatusCreated, id)
}

func (s *Server) begin(pattern, from, title, by string) (string, error) {
	s.folderM.Lock()
	defer s.folderM.Unlock()
	var d *job.Document
	if pattern != "" {
		p, err := s.patterns.get(pattern)
		if err != nil {
			return "", err
		}
		if err := s.bring(p, by); err != nil {
			return "", err
		}
		d = p.doc()
	} else {
		st, err := s.open(from)
		if err != nil {
			return "", err
		}
		if st.doc == nil {
			return "", st.problem()
		}
		d = st.doc
	}
	if title != "" {
		if err := d.Set("title", title); err != nil {
			return "", cannot(err)
		}
	}
	base := job.FileName(title)
	if base == "" {
		base = "piece"
	}
	id := base
	for n := 2; s.exists(id + extension); n++ {
		id = fmt.Sprintf("%s-%d", base, n)
	}
	return id, s.write(id+extension, d.Text(), by)
}
