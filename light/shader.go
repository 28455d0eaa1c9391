package light

import "math"

// shader works out what metal sends to the eye of a scene: single entries of the
// tables.
type shader struct {
	mirror  *mirror
	room    *glance // the metal under the room's light
	lamp    *glance // and under the lamp's
	top     top
	gloss   RGB     // what the top itself mirrors to the eye
	eye     vec     // inside, in the work's frame
	through float64 // share of light from inside that the top lets through to the eye
	land    roughness
	gain    float64
	points  [3][]point // a few, the usual number, and many
}

const (
	few = iota
	usual
	many
)

// point chooses a facet.
type point struct {
	p, q float64 // of the unit disc, evenly spread
	at   float64 // where on its flank it lies: 0 at the root, 1 at the crest
}

// Roughness of the facets. Tool marks run along the cut; a sharp polished cutter
// leaves them fine. Plain metal is polished alike in all directions.
// (Chosen by eye; common practice gives no figures.)
const (
	roughAlong  = 0.035
	roughAcross = 0.07
	roughPlain  = 0.05
)

const (
	// facets is how many a table asks for each slope; with thousands the picture
	// changes by a level or two in 255 (TestSheenAgainstDirect).
	facets = 128
	// Steep flanks, where a way depends on the place too, take four times as many,
	// and the bevel, which is seen and not looked at, a quarter.
	steepSlope = 0.6
	bevelTilt  = 0.2
)

// bounces is how often a ray may be thrown from flank to flank. In a V of 60° a
// mirror throws it three times at most; what is left after more is lost.
const bounces = 8

func newShader(s Scene, facets int) *shader {
	h := &shader{
		mirror: newMirror(s), top: s.top(), gain: s.gain(),
		room: s.Stuff.glance(s.Room.Spectrum, s.Room.Spectrum), lamp: s.Stuff.glance(s.lampSpectrum(), s.Room.Spectrum),
		points: [3][]point{few: spread(max(1, facets/4)), usual: spread(facets), many: spread(4 * facets)},
	}
	h.land.x, h.land.y = s.Stuff.Land.Roughness()
	h.eye = h.top.inward(s.Eye.direction())
	_, h.through = h.top.outward(h.eye)
	if h.top.index != 1 {
		h.gloss = s.gloss()
	}
	return h
}

// gloss is what the level face of enamel mirrors to the eye.
func (s Scene) gloss() RGB {
	eye := s.Eye.direction()
	room, lamp := newSurroundings(s).radiance(s.Eye.toRoom(reflect(eye, vec{0, 0, 1})))
	return room.plus(s.lampColour(), lamp).scale(fresnel(complex(s.top().index, 0), eye.z))
}

// lampColour is the colour of the lamp's light to an eye used to the room's.
func (s Scene) lampColour() RGB {
	x, y, z := s.lampSpectrum().white()
	return seenBy(s.Room.Spectrum, x, y, z)
}

// spread returns n points that cover the unit disc evenly, by a spiral of the golden
// angle, and the flank by Roberts's sequence.
func spread(n int) []point {
	golden := math.Pi * (3 - math.Sqrt(5))
	points := make([]point, n)
	for i := range points {
		sin, cos := math.Sincos(float64(i) * golden)
		r := math.Sqrt((float64(i) + 0.5) / float64(n))
		_, at := math.Modf(0.5 + float64(float64(i)*0.5698402909980532))
		points[i] = point{r * cos, r * sin, at}
	}
	return points
}

// face is a piece of surface under the eye: its normal, the two directions along
// which its roughness is told, and that roughness.
type face struct {
	n, along, across vec
	rough            roughness
	fine             int // how many facets it takes: few, usual or many
}

// flank is the flank of a cut with the normal (nx, ny, √(1−nx²−ny²)). The tool marks
// lie level on it, square to its slope, and a flank that leans as much the other way
// faces it.
func (s *shader) flank(nx, ny float64) (f face, g groove) {
	f = face{n: vec{nx, ny, math.Sqrt(max(0, 1-float64(nx*nx)-float64(ny*ny)))}, along: vec{1, 0, 0}, fine: usual}
	tilt := math.Sqrt(float64(nx*nx) + float64(ny*ny))
	if tilt > 0 {
		f.along = vec{-ny / tilt, nx / tilt, 0}
		g = groove{slope: tilt / max(f.n.z, 1e-9), towards: vec{nx / tilt, ny / tilt, 0}}
	}
	if g.slope > steepSlope {
		f.fine = many
	}
	f.across = cross(f.n, f.along)
	// The floor of a flat cutter shows no direction.
	cut := smooth((tilt - 0.1) / 0.12)
	f.rough = roughness{
		x: roughPlain + float64(cut*(roughAlong-roughPlain)),
		y: roughPlain + float64(cut*(roughAcross-roughPlain)),
	}
	return f, g
}

// ground is uncut metal with the normal (nx, ny, √(1−nx²−ny²)), level or on the bevel
// of the edge.
func (s *shader) ground(nx, ny float64) (f face, g groove) {
	f = face{n: vec{nx, ny, math.Sqrt(max(0, 1-float64(nx*nx)-float64(ny*ny)))}, rough: s.land, fine: usual}
	if float64(nx*nx)+float64(ny*ny) > bevelTilt*bevelTilt {
		f.fine = few
	}
	f.along = unit(vec{f.n.z, 0, -nx}) // the work's x axis laid on it
	f.across = cross(f.n, f.along)
	return f, g
}

// way is one of the ways in which light reaches the eye.
type way struct {
	from       vec     // where it comes from, under the top, in the work's frame
	h          vec     // the normal of a mirror that would show that to the eye
	side       float64 // how much of the mirror's plane the way stands for
	room, lamp RGB     // share of the room's light and of the lamp's that arrives
}

// ways tells visit of every way to the eye by a face in a groove; there are as many
// as facets, less those on which no light comes.
func (s *shader) ways(f *face, g groove, visit func(*way)) {
	eye := vec{dot(s.eye, f.along), dot(s.eye, f.across), dot(s.eye, f.n)} // in the face's own frame
	if eye.z < 0.01 {
		return // it is turned away
	}
	a := f.rough
	hidden, seen := a.lambda(eye), a.seen(eye)
	// A facet's share of the visible ones, as an area of the mirror's plane.
	points := s.points[f.fine]
	area := math.Pi * a.x * a.y * eye.z * (1 + hidden) / float64(len(points))
	var r way
	for i, d := range points {
		m := seen.facet(d.p, d.q)
		c := dot(eye, m)
		in := reflect(eye, m)
		if in.z <= 0 {
			continue // caught by the surface itself
		}
		p, q := m.x/a.x, m.y/a.y
		q2 := float64(p*p) + float64(q*q) + float64(m.z*m.z) // D = 1/(π·αx·αy·q2²)
		r.h = sum(m.x, f.along, m.y, f.across, m.z, f.n)
		r.side = q2 * math.Sqrt(area*max(r.h.z, 1e-4)/c)
		r.from = sum(in.x, f.along, in.y, f.across, in.z, f.n)
		r.room, r.lamp = s.room.at(c), s.lamp.at(c)
		if g.meets(r.from, d.at) || s.top.holds(r.from) {
			times := s.wander(&r, g, d.at, i)
			if times == 0 {
				continue
			}
			// The facets met on the way are rough too.
			r.side *= float64(1 + times)
			r.h = unit(sum(1, r.from, 1, s.eye, 0, r.h))
		} else if r.from.z <= 0 {
			continue
		}
		w := (1 + hidden) / (1 + hidden + a.lambda(in)) * s.through / float64(len(points))
		r.room, r.lamp = r.room.scale(w), r.lamp.scale(w)
		visit(&r)
	}
}

// radiance is what the eye sees of a face in a groove.
func (s *shader) radiance(f face, g groove) RGB {
	total := s.gloss
	s.ways(&f, g, func(r *way) {
		room, lamp := s.mirror.at(r.h.x, r.h.y, r.side)
		total = total.plus(room.times(r.room), 1).plus(r.lamp, lamp)
	})
	return total.scale(s.gain)
}

// wander follows a way that meets the other flank, or is held by the top, from place u
// of its flank back to where its light comes from, takes off what the metal keeps each
// time, and returns how often it met metal; 0 if no light comes that way. i chooses
// among what may happen.
func (s *shader) wander(r *way, g groove, u float64, i int) (times int) {
	d := r.from
	for times < bounces {
		switch {
		case g.meets(d, u):
			u = g.place(d, u)
			g.towards = g.towards.turned()
		case d.z > 0 && s.top.holds(d) && g.slope > 0:
			// Down again, on one of the flanks, wherever that is.
			d.z = -d.z
			_, u = math.Modf(u + 0.3819660112501051)
			if (i+times)&1 == 0 {
				g.towards = g.towards.turned()
			}
			if dot(d, g.normal()) >= 0 {
				g.towards = g.towards.turned()
			}
		case d.z > 0 && !s.top.holds(d):
			r.from = d
			return times
		default:
			return 0
		}
		n := g.normal()
		c := -dot(d, n)
		if c <= 0 {
			return 0
		}
		d = sum(1, d, 2*c, n, 0, n)
		r.room, r.lamp = r.room.times(s.room.at(c)), r.lamp.times(s.lamp.at(c))
		times++
	}
	return 0
}
