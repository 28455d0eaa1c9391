package sight

import (
	"context"
	"fmt"
	"math"

	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/engine"
	"brightcut/light"
	"brightcut/surface"
)

// Piece is what is looked at.
type Piece struct {
	Blank  *blank.Blank
	Cuts   []engine.Cut
	Cutter cutter.Cutter
	Depth  float64 // of the cuts, wished, mm
}

// Figures says what the eye makes of a piece in a scene.
type Figures struct {
	Scene string `json:"scene"`
	Rose  Rose   `json:"rose"`

	// In the scene: its room and its lamp.
	Pattern   float64  `json:"pattern"`             // mean luminance of the cuts; 1 is paper white
	Ground    float64  `json:"ground"`              // of the uncut ground
	Contrast  *float64 `json:"contrast,omitempty"`  // of cuts and ground, (cuts − ground)/(cuts + ground); left out where no ground is left
	Evenness  float64  `json:"evenness"`            // of the pattern, square by square over the field: what its darker tenth lies below to what its brighter tenth lies above
	RoundEven float64  `json:"evenness_lamp_round"` // the same while the lamp goes once round at its height, alone
	Sparkle   float64  `json:"sparkle"`             // variation of luminance from point to point that the eye tells apart, as a share of its mean

	FlashShare float64  `json:"flash_share"`                      // of the cuts, with the lamp at its best: at least half as bright as the brightest of them
	FlashAt    *float64 `json:"flash_off_vertical_deg,omitempty"` // how far off the vertical a lamp makes the cuts flash; left out where none does
	Reflection float64  `json:"reflection_off_vertical_deg"`      // the same by the law of reflection alone, for flanks square to the stroke
	Trapped    bool     `json:"trapped_under_enamel,omitempty"`   // enamel throws that light back

	Reading Visible `json:"at_250_mm"` // the unaided eye
	Loupe   Visible `json:"loupe_10x"` // and with a loupe of ten

	Lands bool    `json:"lands"`    // ground is left between the cuts
	Pitch float64 `json:"pitch_mm"` // mean distance between neighbouring cuts
	Width float64 `json:"width_mm"` // of a cut on flat ground, square to the V
}

// Visible is how small a fault still shows, in the lamp where it shows best unless it
// is said otherwise; 0 where it never does.
type Visible struct {
	Width      float64 `json:"width_error_um"`        // of one cut that is wider or narrower than its neighbours, between its edges or the crests that bound it
	Place      float64 `json:"displaced_um"`          // of one cut out of its place
	Depth      float64 `json:"depth_error_um"`        // that makes that width
	Share      float64 `json:"width_tolerance"`       // the width error that this depth makes on flat ground, as a share of the width there
	Lamp       Place   `json:"lamp"`                  // where it shows so
	Usual      float64 `json:"width_usual_um"`        // the width error that shows under half of all lamps
	UsualShare float64 `json:"width_tolerance_usual"` // the same of the width error that shows under half of all lamps
	AsSet      float64 `json:"width_as_set_um"`       // the width error with the lamp as it is set
	ByVernier  bool    `json:"place_by_vernier"`      // the displacement shows as a kink in a row, not as a change of light
}

// minLand is the share of ground in the field below which the cuts are taken to run
// into one another.
const minLand = 0.02

// Look reckons the figures of a piece in a scene.
func Look(ctx context.Context, p Piece, s light.Scene) (*Figures, error) {
	k, err := surface.NewCarver(p.Cuts, p.Cutter)
	if err != nil {
		return nil, err
	}
	width := p.Cutter.Width(p.Depth)
	f := &Figures{Scene: s.String(), Width: width, Reflection: 2 * (90 - p.Cutter.Included*90/math.Pi)}
	distance := s.Eye.Distance
	if distance == 0 {
		distance = light.DefaultDistance
	}
	l, err := survey(ctx, k, p.Blank, spot(distance), max(width, 1e-3))
	if err != nil {
		return nil, fmt.Errorf("looking at the field: %w", err)
	}
	if l.cut == 0 {
		return f, nil
	}
	rays, err := light.NewRays(s, roseFacets)
	if err != nil {
		return nil, err
	}
	shine, err := light.NewShine(s)
	if err != nil {
		return nil, err
	}
	cuts, ground, err := gathered(ctx, l, rays)
	if err != nil {
		return nil, err
	}
	f.Rose = newRose(cuts, ground)
	f.inScene(l, shine, distance)
	f.flashes(l, rays, cuts, s)
	f.Lands = float64(l.plain) > minLand*float64(l.plain+l.cut)
	f.Pitch = l.pitch(p.Cuts)
	e := newEyeing(f, l, rays, ground, s)
	f.Reading = e.visible(ReadingDistance, p.Cutter)
	f.Loupe = e.visible(ReadingDistance/LoupeMagnification, p.Cutter)
	return f, nil
}

// inScene fills the figures of the scene as it is.
func (f *Figures) inScene(l *lie, shine *light.Shine, distance float64) {
	by := make([]float64, len(l.bins))
	for _, n := range l.used {
		b := &l.bins[n]
		by[n] = shine.Of(false, b.dzdx, b.dzdy).Luminance()
		f.Pattern += float64(by[n] * float64(b.count) / float64(l.cut))
	}
	f.Ground = shine.Of(true, 0, 0).Luminance()
	of := func(lean int32) float64 {
		if lean < 0 {
			return f.Ground
		}
		return by[lean]
	}
	if l.plain > 0 && f.Pattern+f.Ground > 0 {
		c := (f.Pattern - f.Ground) / (f.Pattern + f.Ground)
		f.Contrast = &c
	}
	f.Evenness = spread(l.patches(l.patch(), patterned, of))
	f.Sparkle = variation(l.patches(spot(distance), 0, of))
}

// patterned is how much of a square must be cut, for the half of the squares that are
// cut at all, where it counts as pattern and not as its rim.
const patterned = 0.8

// patch is the side of the squares that evenness is told by: a sixteenth of the field.
func (l *lie) patch() float64 { return float64(max(l.nx, l.ny)) * l.cell / 16 }

// flashes fills the figures of the flash, and of the field under a lamp that goes
// round.
func (f *Figures) flashes(l *lie, rays *light.Rays, cuts *ways, s light.Scene) {
	if at, ok := flash(cuts); ok {
		f.FlashAt = &at
	}
	if s.Stuff.Enamel.Name != "" {
		// Snell at the top of the enamel.
		out := math.Sin(f.Reflection*math.Pi/180) * light.EnamelIndex
		if f.Trapped = out >= 1; !f.Trapped {
			f.Reflection = math.Asin(out) * 180 / math.Pi
		}
	}
	best := newDisc(f.Rose.Best.Azimuth*math.Pi/180, f.Rose.Best.Height*math.Pi/180)
	top, sum := 0.0, 0
	under := l.under(rays, best)
	for _, n := range l.used {
		top = max(top, under[n])
	}
	for _, n := range l.used {
		if under[n] >= top/2 && top > 0 {
			sum += l.bins[n].count
		}
	}
	f.FlashShare = float64(sum) / float64(l.cut)
	round := make([]float64, len(l.bins))
	height := s.Lamp.Elevation
	for _, n := range l.used {
		b := &l.bins[n]
		rays.Flank(b.dzdx, b.dzdy, func(r light.Ray) { round[n] += r.Share.Luminance() * passing(r.Elevation, height) })
	}
	var ground float64
	rays.Ground(0, 0, func(r light.Ray) { ground += r.Share.Luminance() * passing(r.Elevation, height) })
	f.RoundEven = spread(l.patches(l.patch(), patterned, func(lean int32) float64 {
		if lean < 0 {
			return ground
		}
		return round[lean]
	}))
}

// passing is the share of a round at a height during which a lamp covers a direction of
// the given elevation.
func passing(elevation, height float64) float64 {
	c := (math.Cos(lampRadius) - math.Sin(elevation)*math.Sin(height)) / (math.Cos(elevation) * math.Cos(height))
	switch {
	case !(c < 1):
		return 0
	case c <= -1:
		return 1
	}
	return math.Acos(c) / math.Pi
}

// under is how bright each bin is under a lamp.
func (l *lie) under(rays *light.Rays, d disc) []float64 {
	by := make([]float64, len(l.bins))
	for _, n := range l.used {
		b := &l.bins[n]
		rays.Flank(b.dzdx, b.dzdy, func(r light.Ray) {
			sa, ca := math.Sincos(r.Azimuth)
			sh, ch := math.Sincos(r.Elevation)
			if float64(d.x*ch*ca)+float64(d.y*ch*sa)+float64(d.z*sh) >= d.edge {
				by[n] += r.Share.Luminance() * d.gain
			}
		})
	}
	return by
}

// pitch is the mean distance between neighbouring cuts: the ground that the field has
// for the length that is cut.
func (l *lie) pitch(cuts []engine.Cut) float64 {
	var length float64
	for i := range cuts {
		for _, p := range cuts[i].Pieces {
			for k := 1; k < len(p.Path); k++ {
				length += math.Hypot(p.Path[k].X-p.Path[k-1].X, p.Path[k].Y-p.Path[k-1].Y)
			}
		}
	}
	if length == 0 {
		return 0
	}
	return float64(l.cut+l.plain) * l.cell * l.cell / length
}
