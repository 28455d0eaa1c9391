package job

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/blank"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
)

// Stances tells how the slide assembly stands for each cut of the list so that
// the cutter is square to curved work; nil on flat work or when the engine's
// assembly stands fast. Cuts stand where the list has them, seen from above. What
// the swing or the form does not reach is a fault.List.
func (j *Job) Stances(list *engine.List) ([]depth.Stance, error) {
	form, swing, slide := j.Setup.Blank.Nominal, j.Setup.Engine.Swing, j.Setup.Engine.Slide
	if form.Figure == blank.Flat || swing == nil {
		return nil, nil
	}
	c := depth.Curved{Form: form, Assembly: depth.Assembly{Axis: swing.Axis, Min: swing.Min, Max: swing.Max}, Guide: j.Guide}
	out := make([]depth.Stance, len(list.Cuts))
	var faults fault.List
	for i := range list.Cuts {
		x, across, ok := middle(&list.Cuts[i], form.Centre)
		if !ok {
			continue
		}
		c.Across = across
		s, on := c.At(x)
		out[i] = s
		switch {
		case !on:
			faults = append(faults, fault.Fault{Origin: list.Cuts[i].Origin, Field: "sequence", Problem: fmt.Sprintf("the form ends before cut %d, %.4g mm from its middle", i+1, x),
				Mend: "keep the cuts nearer to the middle, or give the form that the work has"})
		case !s.Reached:
			faults = append(faults, fault.Fault{Origin: list.Cuts[i].Origin, Field: "sequence",
				Problem: fmt.Sprintf("for cut %d the slide assembly would have to swing by %.1f deg; it swings from %.4g to %.4g deg", i+1, s.Swing*180/math.Pi, swing.Min*180/math.Pi, swing.Max*180/math.Pi),
				Mend:    fmt.Sprintf("keep the cuts within %.4g mm of the middle of the form", reachOf(&c))})
		case s.Slide < slide.Min || s.Slide > slide.Max:
			faults = append(faults, fault.Fault{Origin: list.Cuts[i].Origin, Field: "sequence",
				Problem: fmt.Sprintf("for cut %d, with the slide assembly swung by %.1f deg, the slide would have to stand at %.2f mm; it travels from %.4g to %.4g mm", i+1, s.Swing*180/math.Pi, s.Slide, slide.Min, slide.Max),
				Mend:    "bring the axis of the swing nearer to the centre of the form, or keep the cuts nearer to its middle"})
		}
		if len(faults) == mostStanceFaults {
			break
		}
	}
	if len(faults) > 0 {
		return nil, j.place(faults)
	}
	return out, nil
}

// mostStanceFaults keeps a message readable: where one cut is out of reach, those
// beyond it are too.
const mostStanceFaults = 3

// reachOf is how far the swing reaches to either side, along the surface.
func reachOf(c *depth.Curved) float64 {
	from, to := c.Reach()
	return min(-from, to)
}

// middle tells how far a cut lies from a place, along the direction of its V, and
// that direction: of the middle of its path on a straight line engine; the mean
// radius of a ring, whose V goes round.
func middle(c *engine.Cut, centre r2.Vec) (x, across float64, ok bool) {
	sum, n := 0.0, 0
	for _, p := range c.Pieces {
		for _, v := range p.Path {
			sin, cos := math.Sincos(v.Across)
			sum += (v.X-centre.X)*cos + (v.Y-centre.Y)*sin
			n++
		}
		if len(p.Path) > 0 {
			across = p.Path[len(p.Path)/2].Across
		}
	}
	if n == 0 {
		return 0, 0, false
	}
	return sum / float64(n), across, true
}
