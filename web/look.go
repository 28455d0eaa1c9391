package web

import (
	"net/http"

	"brightcut/light"
)

// forScene answers for a job's piece in the scene that is asked for.
func (s *Server) forScene(w http.ResponseWriter, r *http.Request, do func(*made, light.Scene) error) error {
	q := &query{Values: r.URL.Query()}
	return s.forJob(w, r, func(m *made) error {
		scene, err := readScene(q, m)
		if err == nil {
			err = q.err
		}
		if err != nil {
			return err
		}
		return do(m, scene)
	})
}

// getLook gives the page what it needs to light a job's piece by itself.
func (s *Server) getLook(w http.ResponseWriter, r *http.Request) error {
	return s.forScene(w, r, func(_ *made, scene light.Scene) error {
		return answer(w, http.StatusOK, scene.Recipe())
	})
}
