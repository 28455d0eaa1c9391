package light

import (
	"bufio"
	_ "embed"
	"math"
	"strconv"
	"strings"
	"sync"
)

// RGB is a colour or radiance in linear sRGB. Components are not limited to
// [0, 1]: a highlight is brighter than paper, and a pure metal may lie outside
// what a screen can show.
type RGB struct{ R, G, B float64 }

func (c RGB) scale(f float64) RGB { return RGB{c.R * f, c.G * f, c.B * f} }

func (c RGB) times(d RGB) RGB { return RGB{c.R * d.R, c.G * d.G, c.B * d.B} }

// plus returns c + f·d. The conversions keep processors that can from fusing the
// product and the sum, which would change the picture's bytes.
func (c RGB) plus(d RGB, f float64) RGB {
	return RGB{c.R + float64(d.R*f), c.G + float64(d.G*f), c.B + float64(d.B*f)}
}

// Luminance is the Y of CIE XYZ for a linear sRGB colour (IEC 61966-2-1).
func (c RGB) Luminance() float64 {
	return float64(0.2126*c.R) + float64(0.7152*c.G) + float64(0.0722*c.B)
}

//go:embed data/observer.csv
var observerTable string

// observation is one row of the observer's table: colour matching functions and
// the two standard illuminants at one wavelength.
type observation struct {
	wavelength float64 // nm
	x, y, z    float64
	d65, a     float64
}

var observer = sync.OnceValue(func() []observation {
	var rows []observation
	for _, f := range csvRows(observerTable) {
		v := floats(f)
		rows = append(rows, observation{v[0], v[1], v[2], v[3], v[4], v[5]})
	}
	return rows
})

// csvRows returns the fields of an embedded table, without its comments and its
// line of headings.
func csvRows(table string) [][]string {
	var rows [][]string
	s := bufio.NewScanner(strings.NewReader(table))
	for s.Scan() {
		if l := s.Text(); !strings.HasPrefix(l, "#") {
			rows = append(rows, strings.Split(l, ","))
		}
	}
	return rows[1:]
}

func floats(fields []string) []float64 {
	v := make([]float64, len(fields))
	for i, f := range fields {
		x, err := strconv.ParseFloat(f, 64)
		if err != nil {
			panic("light: embedded table: " + err.Error())
		}
		v[i] = x
	}
	return v
}

// xyz returns the CIE XYZ, with Y = 1 for a perfect mirror, of light from the
// illuminant thrown back with the given spectral reflectance.
func xyz(reflectance, illuminant func(observation) float64) (x, y, z float64) {
	var white float64
	for _, o := range observer() {
		e := illuminant(o)
		r := e * reflectance(o)
		x += float64(r * o.x)
		y += float64(r * o.y)
		z += float64(r * o.z)
		white += float64(e * o.y)
	}
	return x / white, y / white, z / white
}

func daylight(o observation) float64 { return o.d65 }

// linear converts CIE XYZ to linear sRGB by the matrix of IEC 61966-2-1.
func linear(x, y, z float64) RGB {
	row := func(a, b, c float64) float64 { return float64(a*x) + float64(b*y) + float64(c*z) }
	return RGB{
		row(3.2406, -1.5372, -0.4986),
		row(-0.9689, 1.8758, 0.0415),
		row(0.0557, -0.2040, 1.0570),
	}
}

// encode is the transfer function of IEC 61966-2-1: linear light in [0, 1] to
// the value that a file holds, in [0, 1].
func encode(v float64) float64 {
	if v <= 0.0031308 {
		return float64(12.92 * v)
	}
	return float64(1.055*math.Pow(v, 1/2.4)) - 0.055
}

// decode undoes encode.
func decode(v float64) float64 {
	if v <= 0.04045 {
		return v / 12.92
	}
	return math.Pow((v+0.055)/1.055, 2.4)
}

// tone brings a radiance into the range of a screen. Up to knee it is kept as
// it is; above, its luminance approaches white smoothly, so that a highlight
// half as bright again as paper still shows a difference. Hue is kept.
func tone(c RGB) RGB {
	const knee = 0.55
	y := c.Luminance()
	if y > knee {
		t := (y - knee) / (1 - knee)
		c = c.scale((knee + (1-knee)*t/(1+t)) / y)
	}
	return withinScreen(c)
}

// withinScreen brings a colour that sRGB cannot show into its range. Luminance
// and hue are kept and saturation is given up: the colour is drawn towards the
// grey of the same luminance until its largest component is 1 and its smallest
// 0. Cutting each component off by itself would turn gold greenish.
func withinScreen(c RGB) RGB {
	y := min(max(c.Luminance(), 0), 1)
	keep := 1.0 // share of the saturation that can stay
	for _, v := range [3]float64{c.R, c.G, c.B} {
		switch {
		case v > 1:
			keep = min(keep, (1-y)/(v-y))
		case v < 0:
			keep = min(keep, y/(y-v))
		}
	}
	if keep == 1 {
		return c
	}
	mix := func(v float64) float64 { return min(max(y+float64(keep*(v-y)), 0), 1) }
	return RGB{mix(c.R), mix(c.G), mix(c.B)}
}

// compress and expand bend radiance before and after it is averaged over a
// pixel, L/(1+0.6·L), or a highlight four times as bright as paper on a tenth of
// the pixel would outshine all the rest of it.
func compress(l float64) float64 { return l / (1 + float64(0.6*l)) }

func expand(c float64) float64 { return c / (1 - float64(0.6*c)) }
