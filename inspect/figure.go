package inspect

import (
	"bufio"
	"fmt"
	"io"
	"math"

	"brightcut/blank"
)

// The figures take their ink from the page they stand on, black by themselves, so
// that they print on white and show on dark; dashes, not colour, tell them apart.
const style = `<style>.inspection{color:black;background:white}.inspection text{font:28px sans-serif;fill:currentColor}.inspection .line{stroke:currentColor;fill:none}.inspection .ink{fill:currentColor;stroke:none}.inspection .bare{fill:none;stroke:currentColor;stroke-width:2}</style>`

func begin(w io.Writer, width, height float64, title string) *bufio.Writer {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" class="inspection" role="img" aria-label="%s" viewBox="0 0 %.0f %.0f">%s<text x="40" y="44" style="font-size:34px">%s</text>`+"\n", title, width, height, style, title)
	return b
}

func end(b *bufio.Writer) error {
	fmt.Fprintln(b, "</svg>")
	return b.Flush()
}

// Chart draws how far every width is off, by cut, with the tolerance and what the
// causes make of it, as SVG.
func (r *Report) Chart(w io.Writer) error {
	const left, right, top, bottom = 140.0, 1560.0, 80.0, 640.0
	b := begin(w, 1600, 800, "Widths against the plan, by cut")
	first, last, most := math.MaxInt, 1, 1.0
	for _, q := range r.Residuals {
		first, last = min(first, q.Cut), max(last, q.Cut)
		most = max(most, math.Abs(1000*q.Off), 1150*r.Tolerance*q.Planned)
	}
	x := func(cut int) float64 {
		if last == first {
			return (left + right) / 2
		}
		return left + 20 + (right-left-40)*float64(cut-first)/float64(last-first)
	}
	y := func(um float64) float64 { return (top+bottom)/2 - um/(1.08*most)*(bottom-top)/2 }
	fmt.Fprintf(b, `<path class="line" stroke-width="2" d="M%.1f %.1fV%.1fH%.1f"/>`+"\n", left, top, bottom, right)
	fmt.Fprintf(b, `<path class="line" stroke-width="1.5" d="M%.1f %.1fH%.1f"/>`+"\n", left, y(0), right)
	step := round(most / 2)
	for v := -2 * step; v <= 2*step*1.01; v += step {
		if math.Abs(v) <= 1.08*most {
			fmt.Fprintf(b, `<path class="line" stroke-width="1.5" d="M%.1f %.1fh-10"/><text x="%.1f" y="%.1f" text-anchor="end">%s</text>`+"\n", left, y(v), left-16, y(v)+10, signed(v))
		}
	}
	for _, cut := range []int{first, (first + last) / 2, last} {
		fmt.Fprintf(b, `<path class="line" stroke-width="1.5" d="M%.1f %.1fv10"/><text x="%.1f" y="%.1f" text-anchor="middle">%d</text>`+"\n", x(cut), bottom, x(cut), bottom+42, cut)
	}
	fmt.Fprintf(b, `<text x="%.1f" y="%.1f" text-anchor="middle">cut, in the order of cutting</text><text transform="translate(36 %.1f) rotate(-90)" text-anchor="middle">too wide by, µm</text>`+"\n", (left+right)/2, bottom+88, (top+bottom)/2)
	for _, sign := range []float64{-1, 1} {
		for _, q := range r.Residuals { // the tolerance is a share of each width
			fmt.Fprintf(b, `<path class="line" stroke-width="1.5" d="M%.1f %.1fh12"/>`, x(q.Cut)-6, y(sign*1000*r.Tolerance*q.Planned))
		}
		fmt.Fprintln(b)
	}
	for _, q := range r.Residuals {
		shape := "bare"
		if q.Out {
			shape = "ink"
		}
		fmt.Fprintf(b, `<circle class="%s" cx="%.1f" cy="%.1f" r="5"><title>cut %d: %+.1f µm</title></circle>`, shape, x(q.Cut), y(1000*q.Off), q.Cut, 1000*q.Off)
		if len(r.Causes) > 0 {
			fmt.Fprintf(b, `<path class="line" stroke-width="2.5" d="M%.1f %.1fl10 10m0 -10l-10 10"/>`, x(q.Cut)-5, y(1000*(q.Told-q.Planned))-5)
		}
		fmt.Fprintln(b)
	}
	key := "circle: measured, filled where out of tolerance; dash: tolerance"
	if len(r.Causes) > 0 {
		key += "; cross: as the causes would have it"
	}
	fmt.Fprintf(b, `<text x="%.1f" y="%.1f">%s</text>`+"\n", left, bottom+136, key)
	return end(b)
}

func signed(v float64) string {
	if math.Abs(v) < 1e-9 {
		return "0"
	}
	return fmt.Sprintf("%+.3g", v)
}

// round returns 1, 2 or 5 times a power of ten, not above v.
func round(v float64) float64 {
	p := math.Pow(10, math.Floor(math.Log10(v)))
	for _, f := range []float64{5, 2} {
		if f*p <= v {
			return f * p
		}
	}
	return p
}

// Map draws the work from above with every width that was read: a filled disc where
// the groove is too wide, an open one where it is too narrow, the larger the
// farther off; as SVG.
func (r *Report) Map(w io.Writer, work *blank.Blank) error {
	const side, left, top = 1100.0, 50.0, 80.0
	box := work.Bounds()
	scale := side / max(box.Max.X-box.Min.X, box.Max.Y-box.Min.Y)
	b := begin(w, 1600, top+(box.Max.Y-box.Min.Y)*scale+50, "Widths over the work")
	at := func(x, y float64) (float64, float64) { return left + (x-box.Min.X)*scale, top + (box.Max.Y-y)*scale }
	outline := func(s blank.Shape, width float64) {
		for _, loop := range s.Outline(0.2 / scale) {
			for i, v := range loop {
				x, y := at(v.X, v.Y)
				if i == 0 {
					fmt.Fprintf(b, `<path class="line" stroke-width="%.1f" d="M%.1f %.1f`, width, x, y)
				} else {
					fmt.Fprintf(b, "L%.1f %.1f", x, y)
				}
			}
			fmt.Fprintln(b, `Z"/>`)
		}
	}
	outline(work.Outline, 3)
	for _, v := range work.Windows {
		outline(v.Shape, 2)
	}
	most := 0.0005
	for _, q := range r.Residuals {
		most = max(most, math.Abs(q.Off))
	}
	radius := func(off float64) float64 { return 2 + 18*math.Sqrt(math.Abs(off)/most) }
	shape := func(off float64) string {
		if off < 0 {
			return "bare"
		}
		return "ink"
	}
	for _, q := range r.Largest() {
		x, y := at(q.X, q.Y)
		fmt.Fprintf(b, `<circle class="%s" cx="%.1f" cy="%.1f" r="%.1f"><title>cut %d: %+.1f µm</title></circle>`+"\n", shape(q.Off), x, y, radius(q.Off), q.Cut, 1000*q.Off)
	}
	y := top + 60.0
	for _, share := range []float64{1, 0.5, 0.1, -0.1, -0.5, -1} {
		fmt.Fprintf(b, `<circle class="%s" cx="1230" cy="%.1f" r="%.1f"/><text x="1270" y="%.1f">%.1f µm too %s</text>`+"\n", shape(share), y-10, radius(share*most), y, 1000*math.Abs(share)*most, map[bool]string{true: "narrow", false: "wide"}[share < 0])
		y += 54
	}
	return end(b)
}
