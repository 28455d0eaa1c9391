package tracing

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"io/fs"
	"math"
	"path"
	"strings"

	"brightcut/bar"
	"brightcut/fault"
	"brightcut/internal/table"
)

// The limits of a drawing.
const (
	MaxBytes  = 128 << 20     // of a file
	MaxPoints = bar.MaxPoints // of all lines together
	MaxLines  = 200_000       // elements or entities drawn, copies included
	maxDepth  = 64            // groups within groups
	maxCopies = 16            // copies of copies of copies
	farthest  = 1e7           // mm, of any place
	same      = 1e-6          // mm between two places that are one: a thousandth of a micron
)

// Tolerances used where an option leaves them out, mm.
const (
	DefaultTolerance = 0.0005 // lines from their curves: half a micron
	DefaultGap       = 0.01   // ends taken to meet
	DefaultThinning  = 0.001  // edge from what is drawn
)

// Point is a place in a drawing, mm.
type Point struct{ X, Y float64 }

func (p Point) minus(q Point) Point             { return Point{p.X - q.X, p.Y - q.Y} }
func (p Point) plus(q Point) Point              { return Point{p.X + q.X, p.Y + q.Y} }
func (p Point) times(k float64) Point           { return Point{p.X * k, p.Y * k} }
func (p Point) toward(q Point, t float64) Point { return p.plus(q.minus(p).times(t)) }
func (p Point) length() float64                 { return math.Hypot(p.X, p.Y) }
func (p Point) distance(q Point) float64        { return p.minus(q).length() }
func (p Point) cross(q Point) float64           { return float64(p.X*q.Y) - float64(p.Y*q.X) }

func (p Point) String() string { return fmt.Sprintf("x %.4f mm, y %.4f mm", p.X+0, p.Y+0) }

// Line is one line of a drawing, its curves made straight.
type Line struct {
	Names  []string     // by which it may be asked for: its id and those of its groups, its layer
	Kind   string       // what the file calls it: "path", "LWPOLYLINE"
	Origin fault.Origin // where it stands in the file
	Points []Point
	Closed bool // the last point is joined to the first, which it does not repeat
}

// Length returns the length of the line, mm.
func (l *Line) Length() float64 {
	sum := 0.0
	for i := 1; i < len(l.Points); i++ {
		sum += l.Points[i].distance(l.Points[i-1])
	}
	if n := len(l.Points); l.Closed && n > 1 {
		sum += l.Points[0].distance(l.Points[n-1])
	}
	return sum
}

// Remark tells of something that was mended, assumed or left out.
type Remark struct {
	Origin fault.Origin
	Text   string // a whole sentence
}

func (r Remark) String() string {
	switch {
	case r.Origin.File == "":
		return r.Text
	case r.Origin.Line == 0:
		return r.Origin.File + ": " + r.Text
	}
	return fmt.Sprintf("%s:%d:%d: %s", r.Origin.File, r.Origin.Line, r.Origin.Column, r.Text)
}

// Drawing is what a file draws.
type Drawing struct {
	Name    string        // of the file
	Lines   []Line        // in the order of the file
	Scale   float64       // mm that one unit of the file was taken to be, or one pixel
	Remarks []Remark      // what was assumed or left out
	Photo   *PhotoFigures // of a photograph

	polar bool    // points are (angle rad, radius mm), from a table
	rows  []int32 // of a table: the line of the file on which each point stands
}

// Options say how a file is read.
type Options struct {
	// Unit is the length, mm, of one unit of the drawing, in place of what the file
	// says; 0 leaves it to the file.
	Unit float64
	// Tolerance is how far a line may lie from the curve it stands for, mm;
	// 0 is DefaultTolerance.
	Tolerance float64
	// Radius is the mean radius, mm, to which the heights of a table of angles and
	// heights are added.
	Radius float64
	// Photo is needed for pictures.
	Photo Photo
}

func (o Options) check() fault.List {
	var l fault.List
	if !(o.Unit >= 0 && o.Unit <= 1e6) {
		l = append(l, fault.Fault{Field: "unit", Problem: fmt.Sprintf("a unit of %.6g mm cannot be used", o.Unit), Mend: "give the length of one unit of the drawing, as 25.4 mm for an inch"})
	}
	if !(o.Tolerance == 0 || o.Tolerance >= 1e-6 && o.Tolerance <= 1) {
		l = append(l, fault.Fault{Field: "tolerance", Problem: fmt.Sprintf("a tolerance of %.6g mm cannot be used", o.Tolerance), Mend: "give one from 0.000001 to 1 mm"})
	}
	if !(o.Radius >= 0 && o.Radius <= 1e4) {
		l = append(l, fault.Fault{Field: "radius", Problem: fmt.Sprintf("a mean radius of %.6g mm cannot be used", o.Radius), Mend: "give one from 0 to 10000 mm"})
	}
	return l
}

func (o Options) tolerance() float64 {
	if o.Tolerance == 0 {
		return DefaultTolerance
	}
	return o.Tolerance
}

// Read reads a drawing, a table or a picture; which it is, its first bytes tell
// and, failing them, the end of its name. The error is a fault.List for what is
// wrong in the file or the options, or tells why it could not be read.
func Read(r io.Reader, name string, o Options) (*Drawing, error) {
	if l := o.check(); len(l) > 0 {
		return nil, l
	}
	if err := tooLong(r, name); err != nil {
		return nil, err
	}
	in := bufio.NewReaderSize(r, 64<<10)
	head, err := in.Peek(1024)
	if err != nil && err != io.EOF {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	switch {
	case pictured(head):
		return readPhoto(in, name, o.Photo)
	case bytes.HasPrefix(head, []byte("AutoCAD Binary DXF")), bytes.HasPrefix(head, []byte("AC10")), ends(name, ".dxf"):
		return readDXF(in, name, o)
	case ends(name, ".svg"), bytes.HasPrefix(bytes.TrimLeft(head, "\ufeff \t\r\n"), []byte("<")):
		return readSVG(in, name, o)
	case ends(name, ".csv", ".txt", ".tsv", ".dat"):
		return readTable(in, name, o)
	}
	if text := strings.Fields(string(head)); len(text) > 1 && text[0] == "0" && text[1] == "SECTION" {
		return readDXF(in, name, o)
	}
	return nil, fault.List{{Origin: fault.Origin{File: name}, Problem: "it is no drawing, table or picture that can be read here",
		Mend: "give an SVG or DXF drawing, a table of points (.csv), or a PNG, JPEG or TIFF picture"}}
}

func ends(name string, with ...string) bool {
	for _, w := range with {
		if strings.EqualFold(path.Ext(name), w) {
			return true
		}
	}
	return false
}

// tooLong refuses a file whose length is known before any of it is read.
func tooLong(r io.Reader, name string) error {
	size := int64(0)
	switch f := r.(type) {
	case interface{ Stat() (fs.FileInfo, error) }:
		if info, err := f.Stat(); err == nil {
			size = info.Size()
		}
	case interface{ Len() int }:
		size = int64(f.Len())
	}
	if size > MaxBytes {
		return longFault(name)
	}
	return nil
}

func longFault(name string) fault.List {
	return fault.List{{Origin: fault.Origin{File: name}, Problem: fmt.Sprintf("it is longer than the %d MB that are read", MaxBytes>>20),
		Mend: "save only the edge, or draw it with fewer points"}}
}

// limited is a reader that remembers having been asked for more than MaxBytes.
type limited struct {
	r    io.Reader
	left int64
	over bool
}

func (l *limited) Read(p []byte) (int, error) {
	if l.left <= 0 {
		if n, err := l.r.Read(make([]byte, 1)); n == 0 {
			return 0, err
		}
		l.over = true
		return 0, io.ErrUnexpectedEOF
	}
	n, err := l.r.Read(p[:min(int64(len(p)), l.left)])
	l.left -= int64(n)
	return n, err
}

// sketch gathers the lines of a file being read, within the limits.
type sketch struct {
	file      string
	tolerance float64
	lines     []Line
	drawn     int // elements or entities, copies included
	points    int
	faults    table.Faults
	remarks   []Remark
	told      map[string]bool
	full      bool // a limit was passed: nothing more is drawn
}

func (s *sketch) fault(at fault.Origin, field, problem, mend string) {
	s.faults.Add(fault.Fault{Origin: at, Field: field, Problem: problem, Mend: mend})
}

// remark tells a thing once.
func (s *sketch) remark(at fault.Origin, text string) {
	if s.told == nil {
		s.told = map[string]bool{}
	}
	if !s.told[text] && len(s.remarks) < table.MaxShown {
		s.told[text] = true
		s.remarks = append(s.remarks, Remark{at, text})
	}
}

// another counts an element, and says whether it may still be drawn.
func (s *sketch) another(at fault.Origin) bool {
	if s.full {
		return false
	}
	if s.drawn++; s.drawn > MaxLines {
		s.full = true
		s.fault(at, "", fmt.Sprintf("more than %d things are drawn, copies included", MaxLines), "save only the edge")
	}
	return !s.full
}

// room says whether n more points may be drawn.
func (s *sketch) room(at fault.Origin, n int) bool {
	if s.full {
		return false
	}
	if s.points += n; s.points > MaxPoints || n < 0 {
		s.full = true
		s.fault(at, "", fmt.Sprintf("the lines take more than %d points", MaxPoints), "save only the edge, or allow a greater tolerance")
	}
	return !s.full
}

// add keeps a line whose places can be used.
func (s *sketch) add(l Line) {
	if s.full || len(l.Points) == 0 {
		return
	}
	for _, p := range l.Points {
		if !(math.Abs(p.X) <= farthest && math.Abs(p.Y) <= farthest) {
			s.fault(l.Origin, "", "it lies more than 10 km away", "look at its numbers, its transforms and the unit of the drawing")
			return
		}
	}
	if n := len(l.Points); l.Closed && n > 2 && l.Points[0].distance(l.Points[n-1]) < same {
		l.Points = l.Points[:n-1]
	}
	s.lines = append(s.lines, l)
}

// drawing returns what was gathered.
func (s *sketch) drawing(scale float64) (*Drawing, error) {
	if s.faults.Any() {
		return nil, s.faults.List()
	}
	if len(s.lines) == 0 {
		return nil, fault.List{{Origin: fault.Origin{File: s.file}, Problem: "nothing is drawn in it", Mend: "save the edge as a line, polyline, curve or path that is not hidden"}}
	}
	return &Drawing{Name: s.file, Lines: s.lines, Scale: scale, Remarks: s.remarks}, nil
}
