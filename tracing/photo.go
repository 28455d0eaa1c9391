package tracing

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	_ "image/jpeg" // the formats of cameras and scanners
	_ "image/png"
	"io"
	"math"

	_ "golang.org/x/image/tiff" // what many scanners write

	"brightcut/fault"
)

// The limits of a picture.
const (
	MaxPixels    = 48 << 20
	mostOutlines = 20_000
	maxSide      = 60_000
)

// Pixel is a place in a picture, from the middle of its upper left pixel, x to the
// right and y down, as the file has its rows: a turn noted beside them is not made.
type Pixel struct{ X, Y float64 }

// Photo says how a picture is measured.
type Photo struct {
	Marks     [2]Pixel  // two places whose distance is known
	Distance  float64   // mm between the marks
	Base      *[2]Pixel // a line along the bar, in the direction of the stroke; nil is along the rows
	Origin    *Pixel    // becomes x = y = 0: the centre of a rosette; nil is the first mark
	Threshold float64   // of light, 0 to 1, between metal and ground; 0 finds one (Otsu)
	Linear    bool      // values are in proportion to light: a drawn raster, a measuring camera
	Smooth    float64   // how far smoothing may move a place, mm; 0 is half a pixel, below 0 is not at all
	Shortest  float64   // outlines shorter than this are dust, mm; 0 is 5 mm
}

// PhotoFigures say what was measured of a picture.
type PhotoFigures struct {
	Width, Height int     // pixels
	Scale         float64 // mm to a pixel
	Threshold     float64 // of light, 0 to 1
	Noise         float64 // scatter of the edge along its normal before smoothing, rms, mm
	Moved         float64 // furthest that smoothing moved a place, mm
	Over          float64 // length over which it smooths, mm; 0 is none
	Unclear       int     // places where the edge is no clear step and is taken at the threshold
	Dust          int     // outlines too short to count
}

func pictured(head []byte) bool {
	for _, magic := range []string{"\x89PNG\r\n\x1a\n", "\xff\xd8\xff", "II*\x00", "MM\x00*"} {
		if bytes.HasPrefix(head, []byte(magic)) {
			return true
		}
	}
	return false
}

func (o *Photo) check(name string) fault.List {
	var l fault.List
	add := func(field, problem, mend string) {
		l = append(l, fault.Fault{Origin: fault.Origin{File: name}, Field: field, Problem: problem, Mend: mend})
	}
	apart := math.Hypot(o.Marks[1].X-o.Marks[0].X, o.Marks[1].Y-o.Marks[0].Y)
	if !(apart >= 10 && apart <= 4*maxSide) {
		add("marks", fmt.Sprintf("the two marks stand %.4g pixels apart, so that the picture has no scale", apart), "mark two places far apart whose distance is known")
	}
	if !(o.Distance > 0 && o.Distance <= 1e4) {
		add("distance", fmt.Sprintf("the marks cannot be %.6g mm apart", o.Distance), "measure the distance between the marks, mm")
	}
	if b := o.Base; b != nil {
		if d := math.Hypot(b[1].X-b[0].X, b[1].Y-b[0].Y); !(d >= 1 && d <= 4*maxSide) {
			add("base", "the base line is shorter than a pixel", "mark two places far apart along the bar")
		}
	}
	if c := o.Origin; c != nil && !(math.Hypot(c.X, c.Y) <= 4*maxSide) {
		add("origin", "it lies far outside the picture", "mark a place in the picture")
	}
	if !(o.Threshold >= 0 && o.Threshold < 1) {
		add("threshold", fmt.Sprintf("%.4g is no share of the light", o.Threshold), "give a share from 0 to 1, or leave it out")
	}
	if !(math.Abs(o.Smooth) <= 1) {
		add("smooth", fmt.Sprintf("smoothing by %.4g mm cannot be used", o.Smooth), "give up to 1 mm")
	}
	if !(o.Shortest >= 0 && o.Shortest <= 1e4) {
		add("shortest", fmt.Sprintf("%.4g mm is no length of an outline", o.Shortest), "give up to 10000 mm")
	}
	return l
}

// readPhoto traces the outlines between light and dark in a picture.
func readPhoto(r io.Reader, name string, o Photo) (*Drawing, error) {
	if l := o.check(name); len(l) > 0 {
		return nil, l
	}
	one := func(problem, mend string) (*Drawing, error) {
		return nil, fault.List{{Origin: fault.Origin{File: name}, Problem: problem, Mend: mend}}
	}
	in := &limited{r: r, left: MaxBytes}
	data, err := io.ReadAll(in)
	if in.over {
		return nil, longFault(name)
	}
	if err != nil {
		return nil, fmt.Errorf("read %s: %w", name, err)
	}
	head, _, err := image.DecodeConfig(bytes.NewReader(data))
	if err != nil {
		return one("the picture cannot be read: "+err.Error(), "save it anew as PNG, JPEG or TIFF")
	}
	if head.Width < 8 || head.Height < 8 {
		return one(fmt.Sprintf("a picture of %d by %d pixels shows no edge", head.Width, head.Height), "give a larger one")
	}
	if head.Width > maxSide || head.Height > maxSide || head.Width*head.Height > MaxPixels {
		return one(fmt.Sprintf("a picture of %d by %d pixels is larger than the %d million pixels that are read", head.Width, head.Height, MaxPixels>>20), "cut it down to the edge")
	}
	picture, _, err := image.Decode(bytes.NewReader(data))
	if err != nil {
		return one("the picture cannot be read: "+err.Error(), "save it anew as PNG, JPEG or TIFF")
	}
	if b := picture.Bounds(); b.Dx() < 8 || b.Dy() < 8 || b.Dx() > head.Width || b.Dy() > head.Height {
		return one("the picture is not of the size it tells", "save it anew as PNG, JPEG or TIFF")
	}
	data = nil
	return newLight(picture, o.Linear).trace(name, o)
}

// light is the light of a picture, row by row, in 65535ths.
type light struct {
	w, h int
	v    []uint16
}

func newLight(m image.Image, linear bool) *light {
	b := m.Bounds()
	l := &light{b.Dx(), b.Dy(), make([]uint16, b.Dx()*b.Dy())}
	var decode [65536]uint16
	for i := range decode {
		v := float64(i) / 65535
		switch { // IEC 61966-2-1
		case linear:
		case v <= 0.04045:
			v /= 12.92
		default:
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		decode[i] = uint16(math.Round(v * 65535))
	}
	for y := range l.h {
		row := l.v[y*l.w : (y+1)*l.w]
		switch m := m.(type) {
		case *image.Gray:
			for x := range row {
				row[x] = decode[uint32(m.GrayAt(b.Min.X+x, b.Min.Y+y).Y)*257]
			}
		case *image.Gray16:
			for x := range row {
				row[x] = decode[m.Gray16At(b.Min.X+x, b.Min.Y+y).Y]
			}
		default:
			for x := range row {
				row[x] = luminance(m.At(b.Min.X+x, b.Min.Y+y), &decode)
			}
		}
	}
	return l
}

// luminance weighs the decoded colours (ITU-R BT.709); what is clear is white.
func luminance(c color.Color, decode *[65536]uint16) uint16 {
	r, g, b, a := c.RGBA()
	clear := 0xffff - a
	at := func(v uint32) float64 { return float64(decode[min(v+clear, 0xffff)]) }
	return uint16(math.Round(0.2126*at(r) + 0.7152*at(g) + 0.0722*at(b)))
}

// at interpolates between the four pixels about a place, those of the border beyond
// it.
func (l *light) at(x, y float64) float64 {
	x, y = min(max(x, 0), float64(l.w-1)), min(max(y, 0), float64(l.h-1))
	i, k := min(int(x), l.w-2), min(int(y), l.h-2)
	u, v := x-float64(i), y-float64(k)
	p := l.v[k*l.w+i:]
	q := p[l.w:]
	return (1-v)*((1-u)*float64(p[0])+u*float64(p[1])) + v*((1-u)*float64(q[0])+u*float64(q[1]))
}

// threshold returns the light that best parts the picture in two (N. Otsu, IEEE
// Trans. SMC 9, 1979): that of the greatest variance between the parts. The scale
// is of 1024 steps.
func (l *light) threshold() float64 {
	var count [1024]float64
	for _, v := range l.v {
		count[v>>6]++
	}
	total, mean := float64(len(l.v)), 0.0
	for i, n := range count {
		mean += float64(i) * n / total
	}
	best, from, to := -1.0, 0, 0
	share, sum := 0.0, 0.0
	for i, n := range count {
		share += n / total
		sum += float64(i) * n / total
		if share <= 0 || share >= 1-1e-12 {
			continue
		}
		d := mean*share - sum
		switch between := d * d / (share * (1 - share)); {
		case between > best*(1+1e-12):
			best, from, to = between, i, i
		case between >= best*(1-1e-12): // nothing between light and dark: anywhere there
			to = i
		}
	}
	return (float64(from+to)/2 + 1) * 64
}
