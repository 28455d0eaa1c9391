package light

import "math"

// Rays tells by which ways light reaches the eye of a scene from metal of any slope,
// for those who ask about all places of the lamp at once. It may be used from several
// goroutines.
type Rays struct {
	shader *shader
	eye    Eye
}

// Ray is one of those ways.
type Ray struct {
	// Azimuth and Elevation, rad, are where the light comes from, in the room.
	Azimuth, Elevation float64
	// Share is what arrives of light of the lamp's spectrum coming from there, of the
	// radiance 1, as linear sRGB. Over all ways of a slope the shares add up to its
	// reflectance.
	Share RGB
}

// NewRays returns the ways to the eye of a scene, by so many facets of each slope.
func NewRays(s Scene, facets int) (*Rays, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	return &Rays{newShader(s, facets), s.Eye}, nil
}

// Flank tells visit of every way by the flank of a cut whose height changes by dzdx
// along x and by dzdy along y.
func (r *Rays) Flank(dzdx, dzdy float64, visit func(Ray)) {
	f, g := r.shader.flank(sideways(dzdx, dzdy))
	r.tell(f, g, visit)
}

// Ground tells visit of every way by uncut metal of that slope.
func (r *Rays) Ground(dzdx, dzdy float64, visit func(Ray)) {
	f, g := r.shader.ground(sideways(dzdx, dzdy))
	r.tell(f, g, visit)
}

func (r *Rays) tell(f face, g groove, visit func(Ray)) {
	r.shader.ways(&f, g, func(w *way) {
		out, share := r.shader.top.outward(w.from)
		if share == 0 {
			return
		}
		d := r.eye.toRoom(out)
		visit(Ray{math.Atan2(d.y, d.x), math.Asin(min(1, d.z)), w.lamp.scale(share)})
	})
}

// sideways is the sideways part of the normal of metal of a slope.
func sideways(dzdx, dzdy float64) (nx, ny float64) {
	l := -1 / math.Sqrt(1+float64(dzdx*dzdx)+float64(dzdy*dzdy))
	nx, ny = dzdx*l, dzdy*l
	if r := math.Sqrt(float64(nx*nx) + float64(ny*ny)); r > reach {
		nx, ny = nx*reach/r, ny*reach/r
	}
	return nx, ny
}

// Shine tells what metal of any slope sends to the eye in a scene. It may be asked
// from several goroutines.
type Shine struct{ sheens sheens }

// NewShine returns the light of a scene, worked out as it is asked for.
func NewShine(s Scene) (*Shine, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	return &Shine{newSheens(s)}, nil
}

// Of returns the radiance, as linear sRGB before it is fitted to a screen, of the
// flank of a cut whose height changes by dzdx along x and by dzdy along y, or of
// uncut ground of that slope.
func (s *Shine) Of(uncut bool, dzdx, dzdy float64) RGB {
	facet := int32(0)
	if uncut {
		facet = -1
	}
	c := s.sheens.of(facet).at(float32(dzdx), float32(dzdy))
	return RGB{float64(c[0]), float64(c[1]), float64(c[2])}
}

// Luminance is the light that the eye weighs, of a linear sRGB colour (IEC 61966-2-1).
func (c RGB) Luminance() float64 {
	return float64(0.2126*c.R) + float64(0.7152*c.G) + float64(0.0722*c.B)
}
