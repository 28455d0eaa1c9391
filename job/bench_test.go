package job_test

import (
	"fmt"
	"strings"
	"testing"

	"brightcut/job"
)

// BenchmarkRead reads a job with its parts, and one whose edge is drawn with
// 10 000 points (about 200 kB); the first is what the page does at each change.
func BenchmarkRead(b *testing.B) {
	var points strings.Builder
	for i := range 10_000 {
		fmt.Fprintf(&points, "[%d.125, %.4f], ", i, float64(i%7)/100)
	}
	drawn := strings.Replace(small, "engine: long-bench", "engine: long-bench\nbar: {figure: points, points: ["+points.String()+"]}", 1)
	for _, c := range []struct{ name, file string }{{"panel", "barleycorn.yaml"}, {"10000_points", "drawn.yaml"}} {
		b.Run(c.name, func(b *testing.B) {
			shop := laid(b, map[string]string{"drawn.yaml": drawn})
			b.ReportAllocs()
			b.SetBytes(int64(len(shop[c.file].Data)))
			for b.Loop() {
				j, err := job.ReadFS(shop, c.file)
				if err != nil {
					b.Fatal(err)
				}
				if j.Setup.Depth != 0.045 {
					b.Fatal("another job")
				}
			}
		})
	}
}

func BenchmarkMarshal(b *testing.B) {
	j, err := job.Read("testdata/shop/barleycorn.yaml")
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := j.Marshal(); err != nil {
			b.Fatal(err)
		}
	}
}
