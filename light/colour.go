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

// levels holds encode in steps of 1/65536 of linear light, as bytes of a file:
// finer than a fifteenth of the darkest byte's step.
var levels = sync.OnceValue(func() *[1<<16 + 1]uint8 {
	var l [1<<16 + 1]uint8
	for i := range l {
		l[i] = uint8(float64(encode(float64(i)/(1<<16))*255) + 0.5)
	}
	return &l
})

// tone brings a radiance of no negative component into the range of a screen,
// governed by its largest component: up to knee the colour is kept as it is;
// above, the largest component approaches 1 smoothly and the others keep their
// ratio to it, so that gold, whose red lies outside sRGB, stays gold where cutting
// each component off by itself would turn it greenish. Only what is much brighter
// than white is drawn a little towards white, as the eye is dazzled.
func tone(c RGB) RGB {
	const knee, dazzle = 0.55, 0.35
	m := max(c.R, c.G, c.B)
	if m <= knee {
		return c
	}
	t := (m - knee) / (1 - knee)
	top := knee + float64((1-knee)*(t/(1+t)))
	excess := 1 - top/m
	white := float64(dazzle * excess * excess)
	return c.scale(top/m*(1-white)).plus(RGB{top, top, top}, white)
}
