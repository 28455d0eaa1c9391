package depth

import (
	"brightcut/blank"

	"gonum.org/v1/gonum/spatial/r2"
)

// Stock is the surface of the work before the first cut, as heights above its
// nominal form: bow, saddle, twist and bumps. On curved work the slide assembly
// keeps the cutter square to the nominal form (see Curved), so that heights are
// measured along its normal and the form itself counts by its curvature alone.
//
// A nil Stock is true to a flat form. A Stock may be asked from several
// goroutines.
type Stock struct {
	nominal blank.Nominal
	form    *blank.Surface // nil when the nominal form is flat
	map_    *blank.FormMap // nil when nothing is known but the nominal form
	tilt    blank.Plane    // counted with the form when the work is not trued
}

// NewStock makes the stock of a blank of the given nominal form. residual is what
// its readings left, nil when there are none; untrued counts the readings' best
// plane with the form, for work that is cut as it was read. The form is worked out
// once, over the blank's bounds. The nominal form must have passed Check.
func NewStock(b *blank.Blank, nominal blank.Nominal, residual *blank.Residual, untrued bool) (*Stock, error) {
	s := &Stock{nominal: nominal}
	if nominal.Figure != blank.Flat {
		s.form = nominal.Surface()
	}
	if residual == nil {
		return s, nil
	}
	m, err := residual.Map(b.Bounds())
	if err != nil {
		return nil, err
	}
	s.map_ = m
	if untrued {
		s.tilt = residual.Plane
	}
	return s, nil
}

// Height returns the height at p above the nominal form, mm, its standard
// uncertainty, and whether p lies inside the readings. Stock without readings is
// true to its form, and known says false.
func (s *Stock) Height(p r2.Vec) (z, sd float64, known bool) {
	if s == nil || s.map_ == nil {
		return 0, 0, false
	}
	z, sd, known = s.map_.At(p)
	return z + s.tilt.At(p), sd, known
}

// Curvature returns the curvature of the nominal form at p across a stroke whose
// V lies in the given direction, 1/mm: above 0 where the work is high in the
// middle. It is 0 where the form has no surface.
func (s *Stock) Curvature(p r2.Vec, across float64) float64 {
	if s == nil || s.form == nil {
		return 0
	}
	k, ok := s.form.Curvature(p, across)
	if !ok {
		return 0
	}
	return k
}
