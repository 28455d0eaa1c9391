package inspect

import (
	"math"
	"sort"

	"brightcut/depth"
	"brightcut/engine"
)

// kind is one kind of cause with all the ways of it that are to be tried.
type kind struct {
	name  string
	tried int     // ways that are tried: K
	most  float64 // greatest size that can be, in the unit of the shapes; 0 is any
	usual float64 // size that is commonly met, likewise; larger ones cost more; 0 is any
	below float64 // not 0: a size below 0 cannot be
	terms []*term // each way, sizes 0; nil when they are made on the way
	jumps *jumps  // whole teeth from a cut on
	unit  float64 // of the size, shown: how many to 1
	sign  string  // its name
}

// jumps are displacements by whole teeth from a cut on.
type jumps struct {
	axis  engine.Axis
	tooth float64
	terms []*term
	moves [][]float64 // of each term, what it does to the observations over their uncertainty
}

// The kinds of cause.
const (
	Extension    = "extension"
	CreepPerCut  = "creep per cut"
	CreepPerHour = "creep per hour"
	Wear         = "cutter wear"
	Tilt         = "tilt"
	Bow          = "bow"
	Flex         = "flex"
	Angle        = "cutter angle"
	Flat         = "tip flat"
	SlideScrew   = "slide screw"
	SlideRatchet = "slide ratchet"
	IndexWheel   = "index wheel"
	SlideTeeth   = "slide teeth"
	IndexHoles   = "index holes"
	PhaseTeeth   = "phase teeth"
	StopMoved    = "stop moved"
	GuideMoved   = "guide moved"
	Misreading   = "misreading"
)

// kinds lists what can be the cause on this piece, in the order in which it is
// named when the readings cannot tell.
func (m *model) kinds(force float64) []*kind {
	r := m.rig
	var out []*kind
	add := func(k *kind) {
		for _, t := range k.terms {
			t.kind = k
			t.size = make([]float64, len(t.shapes))
		}
		if k.jumps != nil {
			for _, t := range k.jumps.terms {
				t.kind = k
			}
			k.tried = len(k.jumps.terms)
		} else if len(k.terms) > 0 {
			k.tried = len(k.terms)
		}
		if k.tried > 0 {
			out = append(out, k)
		}
	}
	one := func(name string, most, below, unit float64, sign string, shapes ...shape) {
		add(&kind{name: name, most: most, below: below, unit: unit, sign: sign, terms: []*term{{shapes: shapes}}})
	}
	one(Extension, 0.1, 0, 1000, "µm", shape{deep: r.set(func(int) float64 { return 1 })})
	one(Angle, 0.2, 0, 180/math.Pi, "°", shape{tan: (1 + r.vee.tan*r.vee.tan) / 2})
	one(Flat, 0.1, 0, 1000, "µm", shape{flat: 1})
	if force > 0 {
		one(Flex, 0.003, 0, 1000, "µm/N", shape{deep: r.given(force)})
	}
	one(CreepPerCut, 0.01, 0, 1e5, "µm in 100 cuts", shape{deep: r.set(func(j int) float64 { return float64(j) })})
	if r.hours != nil {
		one(CreepPerHour, 0.1, 0, 1000, "µm in an hour", shape{deep: r.set(func(j int) float64 { return r.hours[j] })})
	}
	one(Wear, 1e-4, 1, 1e6, "µm in a metre", shape{deep: r.worn})
	tilt := []shape{{deep: r.raised(func(x, _ float64) float64 { return x })}, {deep: r.raised(func(_, y float64) float64 { return y })}}
	// Trued and flat to a few hundredths (common practice, no source).
	const flatTo = 0.02
	one(Tilt, 0.01, 0, 1e4, "µm in 10 mm", tilt...)
	out[len(out)-1].usual = flatTo / r.size
	one(Bow, 0.3, 0, 1000, "µm", shape{deep: r.raised(func(x, y float64) float64 { return 0.5 - (x*x+y*y)/(r.size*r.size) })})
	out[len(out)-1].usual = flatTo
	m.periodic(add)
	m.wheel(add)
	m.jumping(add)
	m.steps(add)
	var wrong []*term
	for o := range m.obs {
		wrong = append(wrong, &term{shapes: []shape{{misread: o + 1}}})
	}
	add(&kind{name: Misreading, unit: 1000, sign: "µm", terms: wrong})
	return out
}

// wave is an error that comes again after a number of turns.
func wave(turns func(j int) float64, period float64, on func(s *shape, f func(j int) float64)) *term {
	t := &term{period: period, shapes: make([]shape, 2)}
	on(&t.shapes[0], func(j int) float64 { return math.Sin(2 * math.Pi * turns(j) / period) })
	on(&t.shapes[1], func(j int) float64 { return math.Cos(2 * math.Pi * turns(j) / period) })
	return t
}

// alternates says that the cuts meet an error of the period at two places of it only,
// half of it apart: what shows is a part of it, from one cut to the next by turns.
func alternates(turns []float64, period float64) bool {
	both := false
	for _, t := range turns {
		half := 2 * (t - turns[0]) / period
		if math.Abs(half-math.Round(half)) > 1e-6 {
			return false
		}
		both = both || int(math.Round(half))%2 != 0
	}
	return both
}

// alternating is such an error, as if the cuts met it where it is greatest.
func alternating(turns []float64, period float64) *term {
	return &term{period: period, shapes: []shape{{slide: func(j int) float64 {
		return math.Cos(2 * math.Pi * (turns[j] - turns[0]) / period)
	}}}}
}

// periodic are the errors of the slide's screw, once a turn, every few turns or
// part of one, and of its drive with any other period.
func (m *model) periodic(add func(*kind)) {
	cuts := m.piece.List.Cuts
	screw := m.piece.Job.Setup.Engine.Slide
	if screw.Ratchet == 0 {
		return
	}
	low, high := math.Inf(1), math.Inf(-1)
	turns := make([]float64, len(cuts))
	seen := map[float64]bool{}
	for j := range cuts {
		turns[j] = float64(cuts[j].Settings.Slide) / float64(screw.Ratchet)
		low, high = min(low, turns[j]), max(high, turns[j])
		seen[turns[j]] = true
	}
	span := high - low
	if len(seen) < 6 || span < 0.5 {
		return
	}
	at := func(j int) float64 { return turns[j] }
	on := func(s *shape, f func(j int) float64) { s.slide = f }
	k := &kind{name: SlideScrew, most: 0.2, unit: 1000, sign: "µm"}
	highest := float64(len(seen)-1) / span / 2 // half the cuts to the turn: faster ones look like slower ones
	var named []float64
	for _, period := range []float64{1, 0.5, 1.0 / 3, 0.25, 2, 3, 4, 5} {
		switch {
		case period > span:
			continue
		case alternates(turns, period):
			k.terms = append(k.terms, alternating(turns, period))
		case 1/period < highest:
			k.terms = append(k.terms, wave(at, period, on))
		default:
			continue
		}
		named = append(named, 1/period)
	}
	add(k)
	free := &kind{name: SlideRatchet, most: 0.2, unit: 1000, sign: "µm"}
	const mostPeriods = 400
	step := max(0.5/span, highest/mostPeriods)
	for f := 2 * step; f < highest; f += step {
		near := false
		for _, g := range named {
			near = near || math.Abs(f-g) < 0.75/span
		}
		if !near {
			free.terms = append(free.terms, wave(at, 1/f, on))
		}
	}
	add(free)
}

// wheel is an index wheel off its centre.
func (m *model) wheel(add func(*kind)) {
	cuts, circle := m.piece.List.Cuts, m.piece.List.Circle
	w := m.piece.Job.Setup.Engine.Index
	if circle == 0 || w.Worm == 0 {
		return
	}
	seen := map[int]bool{}
	for j := range cuts {
		seen[cuts[j].Settings.Index] = true
	}
	if len(seen) < 6 {
		return
	}
	turns := func(j int) float64 { return float64(cuts[j].Settings.Index) / float64(circle) }
	on := func(s *shape, f func(j int) float64) { s.turn = f }
	k := &kind{name: IndexWheel, most: 0.02, unit: 180 / math.Pi * 60, sign: "′", terms: []*term{wave(turns, float64(w.Worm), on)}}
	if w.Worm > 1 {
		k.terms = append(k.terms, wave(turns, 1, on))
	}
	add(k)
}

// jumping are whole teeth lost or gained on an axis that was moved before the cut.
func (m *model) jumping(add func(*kind)) {
	e := &m.piece.Job.Setup.Engine
	for _, a := range []struct {
		name  string
		axis  engine.Axis
		tooth float64
		on    func(s *shape, f func(j int) float64)
	}{
		{SlideTeeth, engine.SlideAxis, length(e.Slide), func(s *shape, f func(j int) float64) { s.slide = f }},
		{IndexHoles, engine.IndexAxis, hole(e.Index, m.piece.List.Circle), func(s *shape, f func(j int) float64) { s.turn = f }},
		{PhaseTeeth, engine.ShiftAxis, m.phaseTooth(), func(s *shape, f func(j int) float64) { s.shift = f }},
	} {
		if a.tooth == 0 {
			continue
		}
		js := &jumps{axis: a.axis, tooth: a.tooth}
		for j := 1; j < len(m.tracks); j++ {
			for _, teeth := range m.slips(j, a.axis) {
				s := shape{}
				d := float64(teeth) * a.tooth
				a.on(&s, func(i int) float64 {
					if i >= j {
						return d
					}
					return 0
				})
				js.terms = append(js.terms, &term{shapes: []shape{s}, size: []float64{1}, whole: true, at: j, teeth: teeth})
			}
		}
		k := &kind{name: a.name, unit: 1, sign: "teeth", jumps: js}
		for _, t := range js.terms {
			t.kind = k
		}
		m.try(js)
		add(k)
	}
}

func length(s engine.Screw) float64 {
	if s.Ratchet == 0 {
		return 0
	}
	return s.Length(1)
}

func hole(w engine.Wheel, circle int) float64 {
	if circle == 0 || w.Worm == 0 {
		return 0
	}
	return w.Angle(1, circle)
}

func (m *model) phaseTooth() float64 {
	e := &m.piece.Job.Setup.Engine
	if !m.rose {
		return length(e.Shift)
	}
	if len(e.Crossing.Circles) == 0 || e.Crossing.Worm == 0 {
		return 0
	}
	return e.Crossing.Angle(1, e.Crossing.Circles[0])
}

// slips are the teeth that can have been lost or gained before cut j: a few, or the
// whole step once too often or not at all.
func (m *model) slips(j int, axis engine.Axis) (out []int) {
	moved := 0
	for _, v := range m.piece.List.Cuts[j].Moves {
		if v.Axis == axis {
			moved += v.Count
		}
	}
	if moved == 0 {
		return nil
	}
	seen := map[int]bool{0: true}
	for _, t := range []int{-moved, moved, -1, 1, -2, 2, -3, 3} {
		if !seen[t] {
			seen[t] = true
			out = append(out, t)
		}
	}
	return out
}

// mostTried bounds what the trial of whole teeth keeps, numbers.
const mostTried = 20_000_000

// try works out what each jump does to the observations. Those that no reading can
// show are not on offer: they are neither found nor counted as tried.
func (m *model) try(js *jumps) {
	order := make([]int, len(m.obs)) // by the greatest cut of the sight
	for o := range order {
		order[o] = o
	}
	sort.Slice(order, func(a, b int) bool {
		return m.sights[m.obs[order[a]].sight].high < m.sights[m.obs[order[b]].sight].high
	})
	wholly := map[int][]float64{} // by teeth: every cut moved
	kept := js.terms[:0]
	for _, t := range js.terms {
		if (len(kept)+1)*len(m.obs) > mostTried {
			break
		}
		all := wholly[t.teeth]
		if all == nil {
			d, from := *t, t.shapes[0]
			v := float64(t.teeth) * js.tooth
			every := func(int) float64 { return v }
			s := shape{}
			switch {
			case from.slide != nil:
				s.slide = every
			case from.turn != nil:
				s.turn = every
			default:
				s.shift = every
			}
			d.shapes = []shape{s}
			all, _ = m.foretell([]*term{&d}, nil)
			wholly[t.teeth] = all
		}
		move := make([]float64, len(m.obs))
		sum := 0.0
		var at []moved
		for _, o := range order {
			v := &m.sights[m.obs[o].sight]
			switch {
			case v.high < t.at:
				continue
			case v.low >= t.at:
				move[o] = all[o] - m.plan[o]
			default:
				if cap(at) < len(v.near) {
					at = make([]moved, 2*len(v.near))
				}
				at = at[:len(v.near)]
				w, p := m.width(v, at, m.moved(v, []*term{t}, at))
				if m.obs[o].pitch {
					w = p
				}
				if !math.IsNaN(w) {
					move[o] = w - m.plan[o]
				}
			}
			move[o] /= m.sigma
			sum += move[o] * move[o]
		}
		if sum > 4 {
			kept = append(kept, t)
			js.moves = append(js.moves, move)
		}
	}
	js.terms = kept
}

// steps are changes of the depth from a cut on: a stop that moved, a guide that was
// shimmed or worked loose.
func (m *model) steps(add func(*kind)) {
	for _, a := range []struct {
		name string
		ways []depth.Way
	}{{StopMoved, []depth.Way{depth.ByStop}}, {GuideMoved, []depth.Way{depth.ByGuide, depth.Fixed}}} {
		if !m.holds(a.ways...) {
			continue
		}
		k := &kind{name: a.name, most: 0.2, unit: 1000, sign: "µm"}
		concerned := func(j int) bool { return m.by[j] == a.ways[0] || m.by[j] == a.ways[len(a.ways)-1] }
		// One step for each stretch between cuts that were read, at its first cut.
		read := map[int]bool{}
		for i := range m.sights {
			read[m.sights[i].cut] = true
			for _, j := range m.sights[i].near {
				read[j] = true
			}
		}
		fresh := false
		for j := range m.tracks {
			if fresh = fresh || j > 0 && concerned(j); fresh && read[j] && concerned(j) {
				fresh = false
				on := func(i int) float64 {
					if i >= j && concerned(i) {
						return 1
					}
					return 0
				}
				s := shape{deep: func(i int, _, _ float64) float64 { return on(i) }}
				if a.name == GuideMoved {
					s.deep = m.set(on)
				}
				k.terms = append(k.terms, &term{at: j, shapes: []shape{s}})
			}
		}
		add(k)
	}
}
