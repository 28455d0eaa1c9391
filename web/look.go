package web

import (
	"net/http"
)

// getLook gives the page what it needs to light a job's piece by itself in the scene
// that is asked for.
func (s *Server) getLook(w http.ResponseWriter, r *http.Request) error {
	q := &query{Values: r.URL.Query()}
	return s.forJob(w, r, func(m *made) error {
		scene, err := readScene(q, m)
		if err == nil {
			err = q.err
		}
		if err != nil {
			return err
		}
		return answer(w, http.StatusOK, scene.Recipe())
	})
}
