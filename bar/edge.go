package bar

// Figure names how an edge is drawn.
type Figure int

// The figures. A rosette takes the same ones, its Wave being 1/Bumps of a turn.
const (
	Plain     Figure = iota + 1 // straight edge: no pattern
	Sine                        // Amplitude about the datum
	Trapezoid                   // flats on crest and in hollow, joined by ramps
	Arcs                        // bumps and hollows of circular arcs
	Zigzag                      // straight flanks with nose radii
	Points                      // drawn points, joined by straight lines or a spline
	Bumps                       // a cam-like edge of unequal bumps
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
	Crest     float64      // Trapezoid: length of the flat on the crest, as a share of the wave
	Hollow    float64      // Trapezoid: length of the flat in the hollow, as a share of the wave
	Nose      float64      // Zigzag: radius on the crest, mm
	Root      float64      // Zigzag: radius in the hollow, mm
	Drawn     [][2]float64 // Points: (y, height) mm, or (angle rad, height) for a rosette
	Spline    bool         // Points: joined by a smooth curve rather than straight lines
	Repeats   bool         // Points: the drawn span repeats along the bar
	Heights   []float64    // Bumps: height of each bump, mm; its count is the number of bumps
	Length    float64      // length of a bar, mm; 0 is as long as the stroke needs
}
