package inspect

import (
	"context"
	"fmt"
	"math"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/job"
)

// Piece is what was to be cut.
type Piece struct {
	Job  *job.Job
	List *engine.List // in the order of cutting, heights of the tip below the uncut work
	Plan *depth.Plan  // how the depth was held; nil when nothing was planned
}

// Planned works out what a job's cuts are to be, as every other reader of the job
// does.
func Planned(ctx context.Context, j *job.Job) (Piece, error) {
	list, err := j.Cuts(ctx)
	if err != nil {
		return Piece{}, err
	}
	p := Piece{Job: j, List: list}
	if j.Planned() {
		if p.Plan, _, err = j.Plan(ctx, list); err != nil {
			return Piece{}, err
		}
		p.List = p.Plan.List(list)
	}
	return p, nil
}

// Tolerance is the share of the width by which a groove may be off.
func (p *Piece) Tolerance() float64 {
	if p.Plan != nil {
		return p.Plan.Tolerance
	}
	return depth.DefaultTolerance
}

// rig is how each cut's depth was held, and what had been done before it.
type rig struct {
	scene
	piece  Piece
	by     []depth.Way
	groove []int     // held by the stop: cut, from 0, that it was set in; −1 on the uncut work
	first  []int     // first cut of the run
	gx, gy []float64 // where the stop was set
	length []float64 // cut before, mm
	hours  []float64 // when the cut was made; nil is not known
	foot   float64   // of the guide, across from the tip, mm
	size   float64   // greatest distance of a cut from the work's centre, mm
}

func newRig(p Piece) (*rig, error) {
	j := p.Job
	n := len(p.List.Cuts)
	if n == 0 {
		return nil, fmt.Errorf("inspect: the job %s has no cuts", j.File)
	}
	r := &rig{piece: p, by: make([]depth.Way, n), groove: make([]int, n), first: make([]int, n), gx: make([]float64, n), gy: make([]float64, n), length: make([]float64, n)}
	c := j.Setup.Cutter
	r.rose = j.Setup.Engine.Kind == engine.Rose
	r.vee = vee{math.Tan(c.Half()), c.Flat}
	sum := 0.0
	for i := range p.List.Cuts {
		cut := &p.List.Cuts[i]
		t := newTrack(cut, r.rose)
		deep := 0.0
		for k := range cut.Pieces {
			for _, v := range cut.Pieces[k].Path {
				deep = max(deep, -v.Z)
				r.size = max(r.size, math.Hypot(v.X, v.Y))
			}
		}
		t.half = c.Width(deep) / 2
		r.tracks = append(r.tracks, t)
		r.length[i] = sum
		for k := range cut.Pieces {
			sum += cut.Pieces[k].Length()
		}
		r.groove[i] = -1
		if r.by[i] = depth.Fixed; j.Guide != nil {
			r.by[i] = depth.ByGuide
		}
	}
	if g := j.Guide; g != nil {
		if r.foot = g.Offset; g.Side == depth.Left {
			r.foot = -g.Offset
		}
	}
	if p.Plan == nil {
		return r, nil
	}
	for _, h := range p.Plan.Holds {
		for i := h.First - 1; i < h.Last; i++ {
			r.by[i], r.first[i] = h.By, h.First-1
			if h.By == depth.ByStop && h.Groove > 0 {
				r.groove[i] = h.Groove - 1
				if side, _, _, ok := r.tracks[h.Groove-1].at(h.Reading, 1); ok {
					r.gx[i], r.gy[i] = r.tracks[h.Groove-1].on(h.Reading, side)
				}
			}
		}
	}
	return r, nil
}

// set is the answer of cut j's depth to a change of what the cutter stands out by:
// at(j) at the time of cut j. A stop keeps what its groove had when it was set.
func (r *rig) set(at func(j int) float64) func(j int, x, y float64) float64 {
	var deep func(j int) float64
	deep = func(j int) float64 {
		if r.by[j] != depth.ByStop {
			return at(j)
		}
		if r.groove[j] < 0 {
			return 0
		}
		return deep(r.groove[j])
	}
	return func(j int, _, _ float64) float64 { return deep(j) }
}

// worn is the answer to a tip that recedes by 1 for every mm it cuts. The stop is
// set by the worn tip, and loses only what wears off afterwards.
func (r *rig) worn(j int, _, _ float64) float64 {
	var deep func(j int) float64
	deep = func(j int) float64 {
		if r.by[j] != depth.ByStop {
			return -r.length[j]
		}
		after := r.length[j] - r.length[r.first[j]]
		if r.groove[j] < 0 {
			return -after
		}
		return deep(r.groove[j]) - after
	}
	return deep(j)
}

// raised is the answer to work that stands higher by h: the guide feels only the
// difference between foot and tip, the stop that between the place and the groove
// it was set in, a cutter at a fixed height all of it, the hand nothing.
func (r *rig) raised(h func(x, y float64) float64) func(j int, x, y float64) float64 {
	var deep func(j int, x, y float64) float64
	deep = func(j int, x, y float64) float64 {
		switch r.by[j] {
		case depth.ByGuide:
			across := r.tracks[j].turned
			if r.rose {
				across = math.Atan2(y, x)
			}
			sin, cos := math.Sincos(across)
			return h(x, y) - h(x+r.foot*cos, y+r.foot*sin)
		case depth.ByStop:
			if k := r.groove[j]; k >= 0 {
				return h(x, y) - h(r.gx[j], r.gy[j]) + deep(k, r.gx[j], r.gy[j])
			}
			return h(x, y)
		case depth.ByHand:
			return 0
		}
		return h(x, y)
	}
	return deep
}

// given is the answer to a compliance that is greater by 1 mm/N under a force. The
// stop was set above its groove by the give that was reckoned with, and gives more.
func (r *rig) given(force float64) func(j int, x, y float64) float64 {
	var deep func(j int) float64
	deep = func(j int) float64 {
		switch {
		case r.by[j] == depth.Fixed:
			return 0
		case r.by[j] == depth.ByStop && r.groove[j] >= 0:
			return deep(r.groove[j]) + force
		}
		return force
	}
	return func(j int, _, _ float64) float64 { return deep(j) }
}

// holds says whether a cut is held in one of the ways.
func (r *rig) holds(ways ...depth.Way) bool {
	for _, b := range r.by {
		for _, w := range ways {
			if b == w {
				return true
			}
		}
	}
	return false
}
