package blank

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"

	"brightcut/fault"
	"brightcut/internal/table"
	"gonum.org/v1/gonum/spatial/r2"
)

// Reading is the height of the work at a place, as an indicator or probe gave it.
type Reading struct {
	Place r2.Vec
	Z     float64 // height, mm; out of the metal is positive
	Count int     // readings of the same place that Z is the mean of
	Line  int     // of the file; the first one's
}

// Readings are the readings of one piece of work. No two have the same place.
type Readings struct {
	Name    string
	Points  []Reading
	Rows    int     // lines of the file, repeats counted
	Repeats int     // rows beyond the first at their place
	Scatter float64 // standard deviation of one reading from the repeats, mm; 0 without repeats
	Units   string  // what was read: "x mm, y mm, z um"
}

// ReadingOptions say what the file does not.
type ReadingOptions struct {
	Length string  // unit of lengths that the header names none for; "" is mm
	Height string  // unit of z where it differs; "" is Length
	Angle  string  // unit of angles; "" is deg
	Polar  bool    // without a header the columns are r, angle, z, not x, y, z
	Agree  float64 // repeats at a place may differ by so much, mm; 0 is DefaultAgree
	Blank  *Blank  // the piece that was read: catches wrong units; nil leaves that check out
}

// DefaultAgree is how far two readings of one place may differ: half a division
// of a dial of hundredths (common practice, no source).
const DefaultAgree = 0.005

// ReadReadings reads a file of readings: columns x, y, z or r, angle, z, in
// millimetres, radians and with z out of the metal when it is done. Fields stand
// between commas, semicolons, tabs or blanks; a header may name the columns in
// any order with their units ("x mm", "z um", "angle deg"). Readings of one place
// that agree become their mean.
//
// The error is a fault.List with every fault of the file, at most
// table.MaxShown one by one: what is no number, columns that are missing,
// readings of one place that disagree, readings that lie in one line and so
// tell no plane, readings that do not fit on the blank by the factor of a unit.
// Files beyond 64 MiB or two million rows are refused.
func ReadReadings(r io.Reader, name string, opts ReadingOptions) (*Readings, error) {
	length := cmp.Or(opts.Length, "mm")
	height := cmp.Or(opts.Height, length)
	angle := cmp.Or(opts.Angle, "deg")
	for _, u := range []struct {
		field, unit string
		kind        table.Kind
	}{{"length", length, table.Length}, {"height", height, table.Length}, {"angle", angle, table.Angle}} {
		if _, ok := table.Unit(u.unit, u.kind); !ok {
			return nil, fault.List{{Field: u.field, Problem: fmt.Sprintf("%q is no unit of %s", u.unit, u.kind), Mend: "use mm, um, cm, in or thou; deg, rad or turn"}}
		}
	}
	layouts := []table.Layout{
		{{Name: "x", Kind: table.Length, Unit: length}, {Name: "y", Kind: table.Length, Unit: length}, {Name: "z", Also: []string{"height", "reading"}, Kind: table.Length, Unit: height}},
		{{Name: "r", Also: []string{"radius"}, Kind: table.Length, Unit: length}, {Name: "angle", Kind: table.Angle, Unit: angle}, {Name: "z", Also: []string{"height", "reading"}, Kind: table.Length, Unit: height}},
	}
	if opts.Polar { // the first layout counts without a header
		layouts[0], layouts[1] = layouts[1], layouts[0]
	}
	t, err := table.Read(r, name, layouts...)
	if err != nil {
		return nil, err
	}
	readings := &Readings{Name: name, Rows: t.Rows()}
	for i, c := range layouts[t.Layout] {
		if i > 0 {
			readings.Units += ", "
		}
		readings.Units += c.Name + " " + t.Units[i]
	}
	var faults table.Faults
	all := make([]Reading, t.Rows())
	for i := range all {
		a, b, z := t.Values[0][i], t.Values[1][i], t.Values[2][i]
		p := r2.Vec{X: a, Y: b}
		if layouts[t.Layout][0].Name == "r" {
			if a < 0 {
				faults.Add(fault.Fault{Origin: t.Origin(i), Field: "r", Problem: fmt.Sprintf("the radius is %s mm, below 0", short(a)), Mend: "give the radius above 0 and the angle half a turn on"})
			}
			sin, cos := math.Sincos(b)
			p = r2.Vec{X: a * cos, Y: a * sin}
		}
		all[i] = Reading{Place: p, Z: z, Count: 1, Line: int(t.Lines[i])}
	}
	readings.settle(all, opts, t.Origin, &faults)
	if faults.Any() {
		return nil, faults.List()
	}
	return readings, nil
}

// NewReadings makes readings of what was read by other means than a file of
// columns, in millimetres, by the same rules; Line tells faults where each stands.
func NewReadings(name string, all []Reading, opts ReadingOptions) (*Readings, error) {
	readings := &Readings{Name: name, Rows: len(all), Units: "x mm, y mm, z mm"}
	var faults table.Faults
	readings.settle(slices.Clone(all), opts, func(i int) fault.Origin { return fault.Origin{File: name, Line: all[i].Line} }, &faults)
	if faults.Any() {
		return nil, faults.List()
	}
	return readings, nil
}

// settle puts the readings of one place together and reports what cannot be.
func (rs *Readings) settle(all []Reading, opts ReadingOptions, origin func(i int) fault.Origin, faults *table.Faults) {
	rs.gather(all, cmp.Or(opts.Agree, DefaultAgree), origin, faults)
	if !faults.Any() {
		rs.lie(faults)
	}
	if opts.Blank != nil {
		rs.fits(opts.Blank, faults)
	}
}

// samePlace is how near two readings are taken at one place: far below what a
// slide can be set to.
const samePlace = 1e-4

// gather puts the readings of one place together and reports those that
// disagree.
func (rs *Readings) gather(all []Reading, agree float64, origin func(i int) fault.Origin, faults *table.Faults) {
	type key struct {
		x, y float64
		i    int32
	}
	keys := make([]key, len(all))
	for i, r := range all {
		// A centre read at several angles is one place: −0 is 0.
		keys[i] = key{math.Round(r.Place.X/samePlace) + 0, math.Round(r.Place.Y/samePlace) + 0, int32(i)}
	}
	slices.SortFunc(keys, func(a, b key) int {
		return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.y, b.y), cmp.Compare(a.i, b.i))
	})
	var squares float64
	for from := 0; from < len(keys); {
		to := from + 1
		for to < len(keys) && keys[to].x == keys[from].x && keys[to].y == keys[from].y {
			to++
		}
		r := all[keys[from].i]
		low, high := keys[from].i, keys[from].i
		var sum float64
		for _, k := range keys[from:to] {
			sum += all[k.i].Z - r.Z
			if all[k.i].Z < all[low].Z {
				low = k.i
			}
			if all[k.i].Z > all[high].Z {
				high = k.i
			}
		}
		if spread := all[high].Z - all[low].Z; spread > agree {
			early, late := min(low, high), max(low, high)
			faults.Add(fault.Fault{
				Origin: origin(int(late)),
				Field:  "z",
				Problem: fmt.Sprintf("it differs by %s mm from line %d, which has the same place (%s, %s)",
					short(spread), all[early].Line, short(r.Place.X), short(r.Place.Y)),
				Mend: fmt.Sprintf("read the place again, or leave one line out; repeats may differ by %s mm", short(agree)),
			})
		}
		r.Count = to - from
		mean := r.Z + sum/float64(r.Count)
		for _, k := range keys[from:to] {
			squares += (all[k.i].Z - mean) * (all[k.i].Z - mean)
		}
		r.Z = mean
		rs.Points = append(rs.Points, r)
		rs.Repeats += r.Count - 1
		from = to
	}
	slices.SortStableFunc(rs.Points, func(a, b Reading) int { return cmp.Compare(a.Line, b.Line) })
	if rs.Repeats > 0 {
		rs.Scatter = math.Sqrt(squares / float64(rs.Repeats))
	}
}

// inLine is the width of a set of readings, as a share of its length, below
// which they count as one line.
const inLine = 1e-3

// lie reports readings too few, or too much in one line, for a plane.
func (rs *Readings) lie(faults *table.Faults) {
	origin := fault.Origin{File: rs.Name}
	switch len(rs.Points) {
	case 1:
		faults.Add(fault.Fault{Origin: origin, Problem: "all readings are of one place; they tell neither tilt nor form", Mend: "read at least three places that do not lie in one line"})
		return
	case 2:
		faults.Add(fault.Fault{Origin: origin, Problem: "two places tell no plane", Mend: "read at least three places that do not lie in one line"})
		return
	}
	length, width := spans(rs.Points)
	if width < inLine*length {
		faults.Add(fault.Fault{Origin: origin,
			Problem: fmt.Sprintf("the readings lie in one line, %s mm long and %s mm wide; across it the tilt is unknown", short(length), short(width)),
			Mend:    "add a reading beside the line"})
	}
}

// spans returns the root mean square extents of the places along and across
// their principal direction, as the length and width of a rectangle that has
// the same.
func spans(points []Reading) (length, width float64) {
	c := centroid(points)
	var xx, xy, yy float64
	for _, r := range points {
		d := r2.Sub(r.Place, c)
		xx += d.X * d.X
		xy += d.X * d.Y
		yy += d.Y * d.Y
	}
	n := float64(len(points)) / 12 // a uniform spread over L has variance L²/12
	mean, half := (xx+yy)/2/n, math.Hypot((xx-yy)/2, xy)/n
	return math.Sqrt(mean + half), math.Sqrt(max(0, mean-half))
}

func centroid(points []Reading) (c r2.Vec) {
	for _, r := range points {
		c = r2.Add(c, r.Place)
	}
	return r2.Scale(1/float64(len(points)), c)
}

// slips are the factors that a unit read for another leaves.
var slips = []struct {
	factor float64
	words  string
}{
	{25.4, "an inch is 25.4 mm"},
	{10, "a centimetre is 10 mm"},
	{1000, "a millimetre is 1000 µm"},
	{39.37, "a millimetre is 39.4 thou"},
}

// fits reports readings that lie off the blank, or all in a spot of it, by the
// factor of a unit, and heights that no blank of this size has.
func (rs *Readings) fits(b *Blank, faults *table.Faults) {
	origin := fault.Origin{File: rs.Name}
	box := b.Bounds()
	size := max(math.Abs(box.Min.X), math.Abs(box.Max.X), math.Abs(box.Min.Y), math.Abs(box.Max.Y))
	if size <= 0 || math.IsInf(size, 0) || math.IsNaN(size) {
		return
	}
	var far float64
	low, high := math.Inf(1), math.Inf(-1)
	for _, r := range rs.Points {
		far = max(far, math.Abs(r.Place.X), math.Abs(r.Place.Y))
		low, high = min(low, r.Z), max(high, r.Z)
	}
	report := func(problem, mend string) {
		faults.Add(fault.Fault{Origin: origin, Problem: problem, Mend: mend})
	}
	// Beyond 1.2 the readings are off the work; within a twentieth they would all
	// lie in a spot at its middle, smaller than any subdial.
	if far > 1.2*size || far < size/20 {
		words := ""
		for _, s := range slips {
			if k := far / size; k > s.factor*0.5 && k < s.factor*1.2 || 1/k > s.factor*0.83 && 1/k < s.factor*2 {
				words = fmt.Sprintf("; that is like a slip of a unit: %s", s.words)
				break
			}
		}
		if words != "" || far > 1.2*size {
			report(fmt.Sprintf("the readings reach %s mm from the centre, where the blank reaches %s mm, a factor of %s%s (they were read as %s)",
				short(far), short(size), short(far/size), words, rs.Units),
				"put the right units into the header, or see whether this is the right blank")
		}
	}
	if high-low > size {
		report(fmt.Sprintf("the heights span %s mm on a blank that reaches %s mm from its centre (they were read as %s)", short(high-low), short(size), rs.Units),
			"put the right unit of z into the header")
	}
}
