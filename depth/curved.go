package depth

import (
	"fmt"
	"math"

	"brightcut/blank"
	"brightcut/fault"

	"gonum.org/v1/gonum/spatial/r2"
)

// Assembly is the cutter's slide assembly, which swings about an axis along the
// stroke so that the cutter can stand square to curved work. The axis lies over
// the reading 0 of the cross slide.
type Assembly struct {
	Axis     float64 // height of the axis above the highest point of the nominal form, mm; below 0 inside the work
	Min, Max float64 // swing, rad: above 0 the cutter leans so as to stand square to work that falls towards +x
}

// Curved is work of a nominal form under a slide assembly.
//
// In the plane across the stroke, at x from the figure's centre, let the surface
// stand at z and fall by φ, tan φ = −dz/dx. The cutter stands square to it when
// the assembly is swung by φ; the tip is then at the axis less a·(sin φ, cos φ),
// with a the advance of the cutter below the axis. So
//
//	a = (axis − z)/cos φ,  slide = x + a·sin φ
//
// A cylinder or dome of radius R whose centre lies in the axis needs neither
// advance nor slide: a = −R, slide = 0 throughout. On a cone that falls by φ a step
// of s along the surface is one of s/cos φ of the slide. (Derived.)
type Curved struct {
	Form     blank.Nominal // a cylinder's axis has to lie along the stroke
	Across   float64       // direction across the stroke, rad from the work's x axis
	Assembly Assembly
	Guide    *Guide // nil when there is none
}

// Stance is how the cutter stands, and the engine is set, for one cut on curved work.
type Stance struct {
	Along      float64 // distance along the surface from the figure's centre, mm
	X, Z       float64 // place across and height, mm
	Swing      float64 // of the slide assembly, rad
	Advance    float64 // of the cutter below the assembly's axis, mm
	Slide      float64 // reading of the cross slide, mm
	GuideError float64 // by which the curvature under the guide deepens the cut, mm
	Lean       float64 // rad by which the surface falls along the stroke; the swing cannot meet that
	Reached    bool    // the swing suffices
}

// Check returns what keeps the stances from being worked out: fields "form" and
// "swing".
func (c *Curved) Check() fault.List {
	var l fault.List
	for _, f := range c.Form.Check() {
		f.Field = "form." + f.Field
		l = append(l, f)
	}
	a := c.Assembly
	if !finite(a.Axis, c.Across) || math.Abs(a.Axis) > 1e5 {
		l = append(l, fault.Fault{Field: "swing.axis", Problem: fmt.Sprintf("an axis %s mm above the work cannot be reckoned with", short(a.Axis)), Mend: "give its height above the highest point of the work, below 0 inside it"})
	}
	if !(a.Min >= -math.Pi/2 && a.Max <= math.Pi/2 && a.Min <= a.Max) {
		l = append(l, fault.Fault{Field: "swing", Problem: fmt.Sprintf("the assembly cannot swing from %s to %s deg", short(a.Min*180/math.Pi), short(a.Max*180/math.Pi)), Mend: "give the least and the greatest swing, within −90 and 90 deg"})
	}
	return l
}

// At returns the stance for the cut at x from the figure's centre; ok is false
// where the form has no surface.
func (c *Curved) At(x float64) (s Stance, ok bool) { return c.at(c.Form.Surface(), x) }

func (c *Curved) at(f *blank.Surface, x float64) (s Stance, ok bool) {
	sin, cos := math.Sincos(c.Across)
	p := r2.Vec{X: c.Form.Centre.X + x*cos, Y: c.Form.Centre.Y + x*sin}
	z, slope, _, ok := f.Height(p)
	if !ok {
		return Stance{}, false
	}
	s.X, s.Z = x, z
	s.Swing = math.Atan(-(slope.X*cos + slope.Y*sin))
	s.Lean = math.Atan(slope.X*sin - slope.Y*cos)
	s.Advance = (c.Assembly.Axis - z) / math.Cos(s.Swing)
	s.Slide = x + s.Advance*math.Sin(s.Swing)
	if k, ok := f.Curvature(p, c.Across); ok && k != 0 && c.Guide != nil {
		s.GuideError = c.Guide.CurvatureError(1 / k)
	}
	const hair = 1e-12
	s.Reached = s.Swing >= c.Assembly.Min-hair && s.Swing <= c.Assembly.Max+hair
	s.Along = c.length(f, x)
	return s, true
}

// length returns the distance along the surface from the figure's centre to x.
func (c *Curved) length(f *blank.Surface, x float64) float64 {
	switch r := c.Form.Radius; c.Form.Figure {
	case blank.Cylinder, blank.Dome:
		if c.Form.Figure == blank.Dome || math.Abs(math.Cos(c.Across-c.Form.Axis)) < 1e-9 {
			return math.Abs(r) * math.Asin(x/math.Abs(r))
		}
	case blank.Cone:
		return x / math.Cos(c.Form.Fall)
	case blank.Flat:
		return x
	}
	// Simpson's rule over the section; a profile is a smooth curve.
	const n = 200
	sin, cos := math.Sincos(c.Across)
	sum := 0.0
	for i := range n + 1 {
		t := x * float64(i) / n
		_, slope, _, _ := f.Height(r2.Vec{X: c.Form.Centre.X + t*cos, Y: c.Form.Centre.Y + t*sin})
		weight := 2.0
		if i%2 == 1 {
			weight = 4
		}
		if i == 0 || i == n {
			weight = 1
		}
		sum += weight * math.Hypot(1, slope.X*cos+slope.Y*sin)
	}
	return sum * x / (3 * n)
}

// most bounds the cuts of Steps.
const mostSteps = 100_000

// Steps returns the stances for n cuts a step apart along the surface, the first
// at the given distance along it from the figure's centre. A cut that the swing or
// the form does not reach is a fault.List, with what is reached.
func (c *Curved) Steps(first, step float64, n int) ([]Stance, error) {
	if err := c.Check().Err(); err != nil {
		return nil, err
	}
	if n < 1 || n > mostSteps || !finite(first, step) {
		return nil, fault.List{{Field: "sequence", Problem: fmt.Sprintf("%d cuts cannot be laid over the surface", n), Mend: fmt.Sprintf("give 1 to %d cuts", mostSteps)}}
	}
	f := c.Form.Surface()
	out := make([]Stance, 0, n)
	for i := range n {
		s := first + float64(i)*step
		x, ok := c.place(f, s)
		var set Stance
		if ok {
			set, ok = c.at(f, x)
		}
		if !ok || !set.Reached {
			from, to := c.reach(f)
			why := fmt.Sprintf("the assembly swings from %s to %s deg only", short(c.Assembly.Min*180/math.Pi), short(c.Assembly.Max*180/math.Pi))
			if !ok {
				why = "the form ends before it"
			}
			return out, fault.List{{Field: "sequence", Problem: fmt.Sprintf("cut %d, at %s mm along the surface, cannot be reached: %s", i+1, short(s), why),
				Mend: fmt.Sprintf("keep the cuts between %.4g and %.4g mm along the surface", from, to)}}
		}
		out = append(out, set)
	}
	return out, nil
}

// Reach returns the distances along the surface, from the figure's centre,
// between which the swing keeps the cutter square to it; both 0 when it does
// nowhere. The form must have passed Check.
func (c *Curved) Reach() (from, to float64) { return c.reach(c.Form.Surface()) }

func (c *Curved) reach(f *blank.Surface) (from, to float64) {
	side := func(sign float64) float64 {
		good, step := 0.0, 0.05
		for x := step; x < 2000; x += step {
			s, ok := c.at(f, sign*x)
			if !ok || !s.Reached {
				// The last place that is reached, to a tenth of a micron.
				for hi := x; hi-good > 1e-4; {
					m := (good + hi) / 2
					if s, ok := c.at(f, sign*m); ok && s.Reached {
						good = m
					} else {
						hi = m
					}
				}
				break
			}
			good = x
		}
		if s, ok := c.at(f, sign*good); ok {
			return s.Along
		}
		return 0
	}
	return side(-1), side(1)
}

// place returns the x at a distance along the surface.
func (c *Curved) place(f *blank.Surface, s float64) (x float64, ok bool) {
	switch r := math.Abs(c.Form.Radius); c.Form.Figure {
	case blank.Flat:
		return s, true
	case blank.Cone:
		return s * math.Cos(c.Form.Fall), true
	case blank.Dome:
		return r * math.Sin(s/r), math.Abs(s) < r*math.Pi/2
	}
	// Along a curve x falls short of s; halve the interval.
	low, high := min(0, s), max(0, s)
	for range 60 {
		m := (low + high) / 2
		p := r2.Vec{X: c.Form.Centre.X + m*math.Cos(c.Across), Y: c.Form.Centre.Y + m*math.Sin(c.Across)}
		if _, _, _, on := f.Height(p); on && c.length(f, m) < s == (s > 0) && m != 0 {
			if s > 0 {
				low = m
			} else {
				high = m
			}
		} else if s > 0 {
			high = m
		} else {
			low = m
		}
	}
	x = (low + high) / 2
	return x, math.Abs(c.length(f, x)-s) < 1e-6
}
