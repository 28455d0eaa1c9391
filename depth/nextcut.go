package depth

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"brightcut/fault"
)

// Setting is the extension to set for a wanted width.
type Setting struct {
	Extension   float64 // mm
	Uncertainty float64 // standard, of Extension, mm
	Width       float64 // standard uncertainty of the width that it gives, mm; the hand's own scatter is not in it
}

// Extension returns the extension that gives the wanted width with a hand of the
// given class, or of the given newtons when force is above 0:
// e = (w − f)/(2·tan(θ/2)) − e₀ − c·F. It holds when f and e₀ are not told apart
// too, for they enter as one.
//
// The error is a fault.List when the hand is none of those that were tried or
// the test cuts do not determine what the setting needs.
func (c *Calibration) Extension(width float64, hand string, force float64) (Setting, error) {
	g, e, err := c.setting(width, hand, force)
	if err != nil {
		return Setting{}, err
	}
	u := math.Sqrt(max(0, c.variance(g)))
	return Setting{Extension: e, Uncertainty: u, Width: 2 * math.Tan(c.fit.Beta[Angle]/2) * u}, nil
}

// setting returns the extension for a width and its slope by each unknown.
func (c *Calibration) setting(width float64, hand string, force float64) (g []float64, e float64, err error) {
	if !(width > 0 && width <= 20) {
		return nil, 0, fault.List{{Field: "width", Problem: fmt.Sprintf("%.4g mm is no width of a groove", width), Mend: "give a width above 0, in mm"}}
	}
	column, factor, ok := c.model.flex(hand, force)
	if !ok {
		return nil, 0, fault.List{{Field: "hand", Problem: fmt.Sprintf("no test cut was made with the %s hand and its force is not known", cmp.Or(hand, UsualHand)), Mend: "add a test cut with this hand"}}
	}
	b := c.fit.Beta
	tan := math.Tan(b[Angle] / 2)
	g = make([]float64, len(b))
	depth := (width - b[Flat]) / (2 * tan)
	g[Angle] = -depth * (1 + tan*tan) / (2 * tan)
	g[Flat] = -1 / (2 * tan)
	g[Zero] = -1
	e = depth - b[Zero]
	if column >= 0 {
		g[column] = -factor
		e -= factor * b[column]
	}
	if !c.fit.Determines(g) {
		list := c.Missing()
		return nil, 0, append(fault.List{{Field: "extension", Problem: "the test cuts do not determine the setting for this hand", Mend: "mend what follows"}}, list...)
	}
	return g, e, nil
}

func (c *Calibration) variance(g []float64) (v float64) {
	for i := range g {
		for j := range g {
			v += g[i] * c.fit.Cofactor.At(i, j) * g[j]
		}
	}
	return v
}

// Aim is what a further test cut should serve: the setting for a width with a
// hand or, when Width is 0, all unknowns together.
type Aim struct {
	Width float64
	Hand  string
	Force float64
}

// NextCut is the further test cut that serves an aim most.
type NextCut struct {
	Extension float64 // mm
	Hand      string
	Force     float64 // N, or 0
	Before    float64 // standard uncertainty of the setting now, mm; 0 when the aim is all unknowns
	After     float64 // with this cut
	Settles   bool    // it determines something that was not
	Text      string
}

// Next chooses among cuts with every hand that was tried or whose force is
// known, at 31 extensions from half the least to one and a half times the
// greatest that was tried. A cut that settles an undetermined unknown goes first;
// then the one that leaves the least variance of the setting aimed at
// (c-optimal), or lowers the product of all variances most (D-optimal: the
// greatest 1 + xᵀCx/σ²).
func (c *Calibration) Next(aim Aim) (NextCut, error) {
	var g []float64
	if aim.Width != 0 {
		var err error
		if g, _, err = c.setting(aim.Width, aim.Hand, aim.Force); err != nil {
			return NextCut{}, err
		}
	}
	type hand struct {
		name  string
		force float64
	}
	var hands []hand
	least, most := math.Inf(1), math.Inf(-1)
	for _, cut := range c.cuts {
		h := hand{cmp.Or(cut.Hand, UsualHand), cut.Force}
		if h.force > 0 {
			h.name = ""
		}
		if !slices.Contains(hands, h) {
			hands = append(hands, h)
		}
		least, most = min(least, cut.Extension), max(most, cut.Extension)
	}
	for _, h := range c.model.hands {
		if one := (hand{h.Name, 0}); h.Newtons > 0 && !slices.Contains(hands, one) {
			hands = append(hands, one)
		}
	}
	from, to := min(least/2, least), max(1.5*most, most)
	if to <= from {
		to = from + 0.02
	}
	b, row := c.fit.Beta, make([]float64, len(c.fit.Beta))
	best, score := NextCut{}, math.Inf(-1)
	var now float64
	if g != nil {
		now = c.variance(g)
	}
	const steps = 30
	for _, h := range hands {
		column, factor, ok := c.model.flex(h.name, h.force)
		if !ok {
			continue
		}
		for k := 0; k <= steps; k++ {
			e := from + (to-from)*float64(k)/steps
			if c.model.width(b, e, column, factor, row) <= b[Flat] {
				continue // it would not cut
			}
			x := c.variance(row)
			cut := NextCut{Extension: e, Hand: h.name, Force: h.force, Settles: !c.fit.Determines(row)}
			var s float64
			if g != nil {
				var cross float64
				for i := range row {
					for j := range g {
						cross += row[i] * c.fit.Cofactor.At(i, j) * g[j]
					}
				}
				after := now - cross*cross/(c.Scatter*c.Scatter+x)
				cut.Before, cut.After = math.Sqrt(now), math.Sqrt(max(0, after))
				s = now - after
			} else {
				s = x
				if cut.Settles {
					s += 1e6
				}
			}
			if s > score*(1+1e-9) || math.IsInf(score, -1) {
				best, score = cut, s
			}
		}
	}
	if math.IsInf(score, -1) {
		return NextCut{}, fault.List{{Problem: "no further test cut among those tried would cut", Mend: "try a greater extension"}}
	}
	with := "the " + best.Hand + " hand"
	if best.Force > 0 {
		with = fmt.Sprintf("%.3g N", best.Force)
	}
	best.Text = fmt.Sprintf("A further test cut tells most at an extension of %.0f µm with %s", 1000*best.Extension, with)
	switch {
	case g != nil:
		best.Text += fmt.Sprintf(": the setting is then known to %.2f µm, now %.2f.", 1000*best.After, 1000*best.Before)
	case best.Settles:
		best.Text += ": it settles what is not determined."
	default:
		best.Text += "."
	}
	return best, nil
}
