package bar

import "math"

// Figure names how an edge is drawn.
type Figure int

// The figures. A rosette takes the same ones, a wave being 1/Count of a turn.
// Those that have an Amplitude run from −Amplitude to +Amplitude.
const (
	Plain     Figure = iota + 1 // straight edge: no pattern
	Sine                        // Amplitude about the datum
	Trapezoid                   // flats on crest and in hollow, joined by straight ramps
	Arcs                        // bumps and hollows of circular arcs
	Zigzag                      // straight flanks with nose radii
	Points                      // drawn points, joined by straight lines or a spline
	Bumps                       // a cam-like edge of unequal bumps, each a raised cosine
	Harmonics                   // the sum of Sines
	Blend                       // First and Second by turns, passing smoothly into each other
)

// Edge is the drawn edge of a pattern bar or, when Radius is set, of a rosette.
// Only the fields named beside a Figure count for it.
type Edge struct {
	Name      string
	Figure    Figure
	Radius    float64      // mean radius of a rosette, mm; 0 for a bar
	Count     int          // bumps round a rosette
	Wave      float64      // length of one wave along a bar, mm
	Amplitude float64      // half the height from hollow to crest, mm
	Crest     float64      // Trapezoid: length of the flat on the crest, as a share of the wave; Arcs: of the bump
	Hollow    float64      // Trapezoid: length of the flat in the hollow, as a share of the wave; Arcs: of the hollow
	Nose      float64      // Zigzag: radius on the crest, mm
	Root      float64      // Zigzag: radius in the hollow, mm
	Drawn     [][2]float64 // Points: (y, height) mm, or (angle rad, height) for a rosette
	Spline    bool         // Points: joined by a smooth curve rather than straight lines
	Repeats   bool         // Points: the drawn span repeats along the bar
	Mirror    bool         // Points: followed by their mirror image about the last of them
	Joint     float64      // Points that repeat: length, mm or rad, over which a step between the last and the next first is made good
	Heights   []float64    // Bumps: height of each bump, mm; its count is the number of bumps, or divides Count
	Sines     []Harmonic   // Harmonics: of one wave, or of 1/Count of a turn
	First     *Edge        // Blend: the pattern up to the first of Changes, and after each second one
	Second    *Edge        // Blend: the other pattern
	Changes   []float64    // Blend: middles of the passages, mm or rad, ascending; a rosette has an even number
	Over      float64      // Blend: length of each passage, mm or rad
	Length    float64      // length of a bar, mm; 0 is as long as the stroke needs
	Other     *Edge        // the other edge of a bar cut on both, as it lies when the bar is turned half round to use it
}

// polar says whether the edge is a rosette's.
func (e Edge) polar() bool { return e.Radius != 0 }

// OneWave returns the length of one wave, mm, or the angle of one bump, rad: what
// "half a wave" is a half of. It is the drawn span of Points that repeat, that of
// the First of a Blend, and 0 where nothing repeats.
func (e Edge) OneWave() float64 {
	switch {
	case e.Figure == Plain:
		return 0
	case e.Figure == Blend && e.First != nil:
		return e.First.OneWave()
	case e.polar():
		return 2 * math.Pi / float64(e.bumps())
	case e.Figure == Points:
		return e.Period()
	}
	return e.Wave
}

// Period returns the length, mm, or the angle, rad, after which the edge repeats;
// 0 when it does not, and for a plain bar. Unequal bumps repeat after all of
// Heights. A plain rosette repeats after a turn.
func (e Edge) Period() float64 {
	switch {
	case e.Figure == Plain && e.polar():
		return 2 * math.Pi
	case e.Figure == Plain:
		return 0
	case e.Figure == Blend && e.polar():
		return 2 * math.Pi
	case e.Figure == Blend:
		return 0
	case e.Figure == Bumps:
		return e.OneWave() * float64(len(e.Heights))
	case e.polar():
		return e.OneWave()
	case e.Figure == Points:
		if n := len(e.Drawn); n > 1 && e.Repeats {
			return e.drawnSpan()
		}
		return 0
	}
	return e.Wave
}

// drawnSpan returns the length of what the Points draw, with its mirror image.
func (e Edge) drawnSpan() float64 {
	d := e.Drawn[len(e.Drawn)-1][0] - e.Drawn[0][0]
	if e.Mirror {
		d *= 2
	}
	return d
}

// bumps returns how many waves go round a rosette, at least 1.
func (e Edge) bumps() int {
	if e.Count < 1 && e.Figure == Bumps {
		return max(len(e.Heights), 1)
	}
	return max(e.Count, 1)
}

// Span returns the readings between which there is a bar: [−Length/2, Length/2],
// or the drawn span of Points that do not repeat. It is (−Inf, +Inf) for a bar
// without a length and for a rosette. A figure runs on past the ends of its span
// as far as the touchpiece reaches.
func (e Edge) Span() (from, to float64) {
	switch {
	case e.polar():
	case e.Length > 0:
		return -e.Length / 2, e.Length / 2
	case e.Figure == Points && !e.Repeats && len(e.Drawn) > 0:
		return e.Drawn[0][0], e.Drawn[0][0] + e.drawnSpan()
	}
	return math.Inf(-1), math.Inf(1)
}
