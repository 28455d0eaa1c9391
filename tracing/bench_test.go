package tracing

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// BenchmarkRead reads a polyline of a 300 mm bar and takes its edge.
func BenchmarkRead(b *testing.B) {
	for _, n := range []int{1000, 10_000, 100_000} {
		var svg, dxf strings.Builder
		svg.WriteString(`<svg width="400mm" height="40mm" viewBox="0 0 400 40"><path d="M`)
		dxf.WriteString("0\nSECTION\n2\nENTITIES\n0\nLWPOLYLINE\n70\n0\n")
		for i := range n {
			x := 300 * float64(i) / float64(n)
			y := 10 + 0.5*math.Sin(2*math.Pi*x/5)
			fmt.Fprintf(&svg, "%.5f %.5f ", x, y)
			fmt.Fprintf(&dxf, "10\n%.5f\n20\n%.5f\n", x, y)
		}
		svg.WriteString(`"/></svg>`)
		dxf.WriteString("0\nENDSEC\n0\nEOF\n")
		for name, text := range map[string]string{"a.svg": svg.String(), "a.dxf": dxf.String()} {
			b.Run(fmt.Sprintf("%s/%d", name[2:], n), func(b *testing.B) {
				points := 0
				for b.Loop() {
					d, err := Read(strings.NewReader(text), name, Options{})
					if err != nil {
						b.Fatal(err)
					}
					e, err := d.Edge(Take{Repeat: Whole})
					if err != nil {
						b.Fatal(err)
					}
					points = len(e.Edge.Drawn)
				}
				b.ReportMetric(float64(points), "points-kept")
			})
		}
	}
}
