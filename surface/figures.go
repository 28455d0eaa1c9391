package surface

import (
	"context"
	"fmt"
	"math"
	"sort"

	"brightcut/cutter"
	"brightcut/engine"

	"gonum.org/v1/gonum/spatial/r2"
)

// Figures says what the surface will be. Lengths are millimetres, heights and
// crests microns, angles degrees, as each key's ending says; shares and slopes
// have no unit. A figure that has no meaning for a job is left out.
type Figures struct {
	GrooveDepth         float64  `json:"groove_depth_mm"`                         // median of the cuts' wished depths
	GrooveDepthLeast    float64  `json:"groove_depth_least_mm"`                   // of the shallowest cut
	GrooveDepthGreatest float64  `json:"groove_depth_greatest_mm"`                // of the deepest
	GrooveWidth         float64  `json:"groove_width_mm"`                         // across the stroke, at GrooveDepth
	WidthSensitivity    float64  `json:"width_sensitivity"`                       // mm of width for 1 mm of depth
	LandShare           float64  `json:"land_share"`                              // of the field that no cut touches
	LandsVanish         *float64 `json:"lands_vanish_inside_radius_mm,omitempty"` // rays: inside this radius no land is left
	CrestBelow          *float64 `json:"crest_below_surface_um,omitempty"`        // median; left out where lands part all cuts
	CrestBelowLeast     *float64 `json:"crest_below_surface_least_um,omitempty"`
	CrestBelowGreatest  *float64 `json:"crest_below_surface_greatest_um,omitempty"`

	SteepestSlope float64 `json:"steepest_slope_deg"` // of a path from the stroke
	HeelLimit     float64 `json:"heel_limit_deg"`
	HeelMargin    float64 `json:"heel_margin_deg"` // below 0 the heel rubs
	FlashAngle    float64 `json:"flash_angle_deg"` // light this far off the normal flashes to an eye on it

	LengthCut float64 `json:"length_cut_mm"`
	Strokes   int     `json:"strokes"`
	Seconds   float64 `json:"seconds"`

	ChipArea          float64  `json:"chip_area_um2"`
	CuttingForce      *float64 `json:"cutting_force_n,omitempty"` // left out where the metal's constants are unknown
	CuttingForceLow   *float64 `json:"cutting_force_low_n,omitempty"`
	CuttingForceHigh  *float64 `json:"cutting_force_high_n,omitempty"`
	ForceExtrapolated bool     `json:"cutting_force_extrapolated"` // chips thinner than the published tables

	ProfileLength float64 `json:"profile_length_mm"` // of the lines that the R figures are the median of
	Ra            float64 `json:"ra_um"`
	Rq            float64 `json:"rq_um"`
	Rz            float64 `json:"rz_um"`
	Rsk           float64 `json:"rsk"`
	Rku           float64 `json:"rku"`

	Sa  float64 `json:"sa_um"`
	Sq  float64 `json:"sq_um"`
	Sz  float64 `json:"sz_um"`
	Ssk float64 `json:"ssk"`
	Sku float64 `json:"sku"`
	Sdq float64 `json:"sdq"`
	Sdr float64 `json:"sdr"`

	Cell float64 `json:"cell_um"` // side of the cells that lands, crests and S figures are counted in
}

const (
	// surveyCells bounds the cells of a survey: four times as many change lands
	// and S figures by less than a thousandth, and take a second.
	surveyCells = 6 << 20
	// grooveCells is how many cells a groove's width is given when there is room.
	grooveCells = 24
)

// Measure says what the surface will be when the list of cuts is worked on flat
// stock. The S figures, lands and crests are taken over the field; the R figures
// along straight lines that cross the middle cut in the direction of the V, and so
// run across the cuts, as far as the field goes but at most 2 mm to either side:
// the median of nine lines, whose places along the cut no repeat of the pattern
// hits alike. The set-up must have passed its checks.
func Measure(ctx context.Context, list *engine.List, setup *engine.Setup, metal cutter.Metal) (Figures, error) {
	c := setup.Cutter
	k, err := NewCarver(list.Cuts, c)
	if err != nil {
		return Figures{}, err
	}
	const deg, um = 180 / math.Pi, 1000.0
	f := Figures{
		WidthSensitivity: c.Sensitivity(),
		HeelLimit:        c.HeelLimit() * deg,
		FlashAngle:       2 * (math.Pi/2 - c.Half()) * deg,
		LengthCut:        list.LengthCut(),
		Strokes:          list.Strokes(),
		Seconds:          list.Seconds(),
	}
	f.GrooveDepthLeast, f.GrooveDepth, f.GrooveDepthGreatest = depths(list.Cuts)
	f.GrooveWidth = c.Width(f.GrooveDepth)
	f.ChipArea = c.ChipArea(f.GrooveDepth) * um * um
	f.ForceExtrapolated = c.Extrapolated(f.GrooveDepth)
	if low, mid, high, known := c.Force(f.GrooveDepth, metal); known {
		f.CuttingForceLow, f.CuttingForce, f.CuttingForceHigh = &low, &mid, &high
	}
	f.SteepestSlope = k.steepest() * deg
	f.HeelMargin = f.HeelLimit - f.SteepestSlope
	if r, ok := raysMeet(list.Cuts, f.GrooveWidth); ok {
		f.LandsVanish = &r
	}

	field := setup.Blank.Field()
	g, ok := surveyGrid(field.Bounds(), f.GrooveWidth)
	if !ok {
		f.round()
		return f, nil // no field to cut
	}
	s, err := k.Survey(ctx, g, field)
	if err != nil {
		return Figures{}, fmt.Errorf("measuring the field: %w", err)
	}
	f.Cell = g.Cell * um
	f.LandShare = s.LandShare()
	if s.Crests.Count > 0 {
		least, median, most := s.Crests.Least*um, s.Crests.Median*um, s.Crests.Most*um
		f.CrestBelowLeast, f.CrestBelow, f.CrestBelowGreatest = &least, &median, &most
	}
	t := s.Texture
	f.Sa, f.Sq, f.Sz, f.Ssk, f.Sku, f.Sdq, f.Sdr = t.Sa*um, t.Sq*um, t.Sz*um, t.Ssk, t.Sku, t.Sdq, t.Sdr

	p, length, err := k.across(ctx, list.Cuts, field)
	if err != nil {
		return Figures{}, fmt.Errorf("measuring across the cuts: %w", err)
	}
	f.ProfileLength = length
	f.Ra, f.Rq, f.Rz, f.Rsk, f.Rku = p.Ra*um, p.Rq*um, p.Rz*um, p.Rsk, p.Rku
	f.round()
	return f, nil
}

// round drops the digits that a figure does not deserve: it keeps nanometres,
// thousandths of a degree and centinewtons.
func (f *Figures) round() {
	to := func(digits float64, values ...*float64) {
		p := math.Pow(10, digits)
		for _, v := range values {
			if v != nil {
				*v = math.Round(*v*p)/p + 0 // no −0
			}
		}
	}
	to(6, &f.GrooveDepth, &f.GrooveDepthLeast, &f.GrooveDepthGreatest, &f.GrooveWidth, &f.LandShare, f.LandsVanish, &f.ProfileLength)
	to(3, f.CrestBelow, f.CrestBelowLeast, f.CrestBelowGreatest, &f.LengthCut, &f.ChipArea, &f.Cell)
	to(3, &f.Ra, &f.Rq, &f.Rz, &f.Sa, &f.Sq, &f.Sz, &f.SteepestSlope, &f.HeelLimit, &f.HeelMargin, &f.FlashAngle)
	to(4, &f.WidthSensitivity, &f.Rsk, &f.Rku, &f.Ssk, &f.Sku)
	to(6, &f.Sdq, &f.Sdr)
	to(2, f.CuttingForce, f.CuttingForceLow, f.CuttingForceHigh)
}

// depths returns the least, the median and the greatest wished depth.
func depths(cuts []engine.Cut) (least, median, greatest float64) {
	if len(cuts) == 0 {
		return 0, 0, 0
	}
	d := make([]float64, len(cuts))
	for i := range cuts {
		d[i] = cuts[i].Depth
	}
	sort.Float64s(d)
	return d[0], d[len(d)/2], d[len(d)-1]
}

// steepest returns the greatest slope of any path from the stroke, which is
// square to the V, rad.
func (k *Carver) steepest() float64 {
	worst := 0.0
	for _, s := range k.strips {
		a, b := k.tips[s.first], k.tips[s.first+1]
		mx, my := turn(a, b, 0.5)
		dx, dy := b.x-a.x, b.y-a.y
		if math.Hypot(dx, dy) < same {
			continue // rounding has the say
		}
		worst = max(worst, math.Atan2(math.Abs(dx*mx+dy*my), math.Abs(dx*my-dy*mx)))
	}
	return worst
}

// surveyGrid lays cells over the box: a groove's width in grooveCells of them
// while surveyCells allow it.
func surveyGrid(box r2.Box, width float64) (g Grid, ok bool) {
	w, h := box.Max.X-box.Min.X, box.Max.Y-box.Min.Y
	if !(w > 0 && h > 0) || !finite(w, h) {
		return g, false
	}
	cell := max(math.Sqrt(w*h/surveyCells), max(w, h)/MaxSide*2)
	if width > 0 {
		cell = max(cell, width/grooveCells)
	}
	cell = min(cell, min(w, h)) // a sliver still gets a cell
	cell = max(cell, max(w, h)/MaxSide*2)
	g = Grid{Cell: cell, Nx: max(1, int(w/cell)), Ny: max(1, int(h/cell))}
	// What is left over is shared by both rims.
	g.X0 = box.Min.X + (w-float64(g.Nx-1)*cell)/2
	g.Y0 = box.Min.Y + (h-float64(g.Ny-1)*cell)/2
	return g, true
}
