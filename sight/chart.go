package sight

import (
	"bufio"
	"fmt"
	"io"
	"math"
)

// WriteSVG draws the rose as seen from above: round it the direction of the lamp, from
// the rim (the lamp on the horizon) to the middle (overhead) its height, as light as
// the cuts are bright; the lamp as it is set and the brightest one marked; and as a
// line how bright the cuts are while the lamp goes round at its height.
func (r *Rose) WriteSVG(w io.Writer, set Place) error {
	const size, middle, radius = 480.0, 240.0, 190.0
	b := bufio.NewWriter(w)
	at := func(azimuth, out float64) (x, y float64) {
		s, c := math.Sincos(azimuth * math.Pi / 180)
		return middle + out*radius*c, middle - out*radius*s
	}
	place := func(p Place) (x, y float64) { return at(p.Azimuth, (90-p.Height)/90) }
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%[1]g" height="%[1]g" viewBox="0 0 %[1]g %[1]g" font-family="sans-serif" font-size="13">`+"\n", size)
	fmt.Fprintf(b, `<title>Light rose: the cuts are brightest with the lamp at %.0f degrees, %.0f degrees high</title>`+"\n", r.Best.Azimuth, r.Best.Height)
	fmt.Fprintf(b, `<rect width="%[1]g" height="%[1]g" fill="#16171a"/>`+"\n", size)
	top := 0.0
	for _, row := range r.Brightness {
		for _, v := range row {
			top = max(top, v)
		}
	}
	if top == 0 {
		top = 1
	}
	da, dh := 180.0/roseAzimuths, 45.0/roseHeights
	for h, row := range r.Brightness {
		outer, inner := (90-r.Heights[h]+dh)/90, (90-r.Heights[h]-dh)/90
		for a, v := range row {
			x0, y0 := at(r.Azimuths[a]-da, outer)
			x1, y1 := at(r.Azimuths[a]+da, outer)
			x2, y2 := at(r.Azimuths[a]+da, inner)
			x3, y3 := at(r.Azimuths[a]-da, inner)
			fmt.Fprintf(b, `<path d="M%.1f %.1fL%.1f %.1fL%.1f %.1fL%.1f %.1fZ" fill="%s"/>`+"\n", x0, y0, x1, y1, x2, y2, x3, y3, shade(v/top))
		}
	}
	fmt.Fprintf(b, `<g fill="none" stroke="#d8d4cc" stroke-opacity="0.35">`+"\n")
	for _, h := range []float64{0, 30, 60} {
		fmt.Fprintf(b, `<circle cx="%g" cy="%g" r="%.1f"/>`+"\n", middle, middle, radius*(90-h)/90)
	}
	for a := 0.0; a < 180; a += 45 {
		x0, y0 := at(a, 1)
		x1, y1 := at(a+180, 1)
		fmt.Fprintf(b, `<path d="M%.1f %.1fL%.1f %.1f"/>`+"\n", x0, y0, x1, y1)
	}
	fmt.Fprint(b, "</g>\n<path fill=\"none\" stroke=\"#e0a458\" stroke-width=\"1.8\" d=\"")
	row := r.at(set.Height)
	most := 0.0
	for _, v := range row {
		most = max(most, v)
	}
	for a, v := range row {
		if most > 0 {
			v /= most
		}
		x, y := at(r.Azimuths[a], v)
		fmt.Fprintf(b, "%c%.1f %.1f", "ML"[min(a, 1)], x, y)
	}
	fmt.Fprint(b, "Z\"/>\n")
	x, y := place(set)
	fmt.Fprintf(b, `<circle cx="%.1f" cy="%.1f" r="7" fill="none" stroke="#16171a" stroke-width="4"/><circle cx="%.1f" cy="%.1f" r="7" fill="none" stroke="#e0a458" stroke-width="2"/>`+"\n", x, y, x, y)
	x, y = place(r.Best)
	fmt.Fprintf(b, `<path d="M%.1f %.1fh12m-6 -6v12" stroke="#16171a" stroke-width="4"/><path d="M%.1f %.1fh12m-6 -6v12" stroke="#d8d4cc" stroke-width="2"/>`+"\n", x-6, y, x-6, y)
	fmt.Fprint(b, `<g fill="#d8d4cc" text-anchor="middle">`+"\n")
	for a := 0.0; a < 360; a += 45 {
		x, y := at(a, 1.12)
		fmt.Fprintf(b, `<text x="%.1f" y="%.1f">%g°</text>`+"\n", x, y+4.5, a)
	}
	fmt.Fprintf(b, `<text x="%g" y="%g">lamp round the work; rim: on the horizon, rings: 30° and 60° high</text>`+"\n", middle, size-8)
	fmt.Fprint(b, "</g>\n</svg>\n")
	return b.Flush()
}

// shade is the grey of a chart for a brightness from 0 to 1, its root taken so that
// what is dim can be told apart.
func shade(v float64) string {
	t := math.Sqrt(min(max(v, 0), 1))
	part := func(dark, light float64) int { return int(dark + t*(light-dark) + 0.5) }
	return fmt.Sprintf("#%02x%02x%02x", part(0x1e, 0xf6), part(0x1f, 0xee), part(0x24, 0xdc))
}

// at is the row of brightnesses at a height, degrees: between the two nearest.
func (r *Rose) at(height float64) []float64 {
	k := (height/90)*roseHeights - 0.5
	i := min(max(int(k), 0), roseHeights-2)
	t := min(max(k-float64(i), 0), 1)
	row := make([]float64, len(r.Azimuths))
	for a := range row {
		row[a] = float64(r.Brightness[i][a]*(1-t)) + float64(r.Brightness[i+1][a]*t)
	}
	return row
}
