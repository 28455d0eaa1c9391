package web

import (
	"context"
	"fmt"
	"net/http"

	"brightcut/light"
	"brightcut/sight"
)

// looked is how a piece takes the light, in figures and in words.
type looked struct {
	*sight.Figures
	Sentences []string `json:"sentences"`
}

// getRose tells how a piece takes the light in the scene that is asked for.
func (s *Server) getRose(w http.ResponseWriter, r *http.Request) error {
	return s.forScene(w, r, func(m *made, scene light.Scene) error {
		m, err := s.deep(r.Context(), m)
		if err != nil {
			return err
		}
		f, err := s.roses.get(r.Context(), s.ctx, m.job.Digest+" "+sceneKey(scene), func(ctx context.Context) (*sight.Figures, error) {
			return sight.Look(ctx, sight.Piece{Blank: &m.job.Setup.Blank, Cuts: m.list.Cuts, Cutter: m.job.Setup.Cutter, Depth: m.job.Setup.Depth}, scene)
		})
		if err != nil {
			return err
		}
		return answer(w, http.StatusOK, looked{f, f.Sentences(scene)})
	})
}

// sceneKey tells scenes apart.
func sceneKey(s light.Scene) string {
	return fmt.Sprintf("%v %v %v %v", s, s.Lamp.Azimuth, s.Lamp.Elevation, s.Eye)
}
