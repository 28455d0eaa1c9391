package bar

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
)

// longBar is a bar of 300 mm drawn through n points: waves of 3 mm with a ripple.
func longBar(n int, spline bool) Edge {
	e := Edge{Figure: Points, Spline: spline}
	r := rand.New(rand.NewPCG(1, 2))
	for i := range n {
		y := 300*float64(i)/float64(n-1) - 150
		e.Drawn = append(e.Drawn, [2]float64{y, 0.25*math.Sin(2*math.Pi*y/3) + 0.002*r.Float64()*300/float64(n)})
	}
	return e
}

func BenchmarkFollowPoints(b *testing.B) {
	for _, spline := range []bool{false, true} {
		for _, n := range []int{1e3, 1e4, 1e5, 1e6} {
			e := longBar(n, spline)
			b.Run(fmt.Sprintf("spline=%v/%d", spline, n), func(b *testing.B) {
				b.ReportAllocs()
				var sum float64
				for b.Loop() {
					p, err := Follow(e, 0.3)
					if err != nil {
						b.Fatal(err)
					}
					l, _ := p.At(1)
					sum += l
				}
				b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/point")
				if math.IsNaN(sum) {
					b.Fatal(sum)
				}
			})
		}
	}
}

func BenchmarkInverse(b *testing.B) {
	for _, n := range []int{1e3, 1e4, 1e5, 1e6} {
		e := longBar(n, false)
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			points := 0
			for b.Loop() {
				v, err := Want{Path: e, Touch: 0.3}.Inverse()
				if err != nil {
					b.Fatal(err)
				}
				points = len(v.Edge.Drawn)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/point")
			b.ReportMetric(float64(points), "drawn")
		})
	}
}

func BenchmarkFollowSine(b *testing.B) {
	for _, e := range []Edge{
		{Figure: Sine, Wave: 3, Amplitude: 0.25},
		{Figure: Sine, Radius: 40, Count: 24, Amplitude: 0.5},
	} {
		b.Run(fmt.Sprintf("radius=%g", e.Radius), func(b *testing.B) {
			spans := 0
			for b.Loop() {
				p, err := Follow(e, 0.3)
				if err != nil {
					b.Fatal(err)
				}
				spans = len(p.spans)
			}
			b.ReportMetric(float64(spans), "spans")
		})
	}
}

func BenchmarkAt(b *testing.B) {
	for _, c := range []struct {
		name string
		e    Edge
	}{
		{"sine", Edge{Figure: Sine, Wave: 3, Amplitude: 0.25}},
		{"rosette", Edge{Figure: Sine, Radius: 40, Count: 24, Amplitude: 0.5}},
		{"points", longBar(1e5, false)},
	} {
		p, err := Follow(c.e, 0.3)
		if err != nil {
			b.Fatal(err)
		}
		for _, step := range []float64{0.01, 7.77} {
			b.Run(fmt.Sprintf("%s/step=%g", c.name, step), func(b *testing.B) {
				var sum float64
				s := -100.0
				for b.Loop() {
					l, m := p.At(s)
					sum += l + m
					if s += step; s > 100 {
						s -= 200
					}
				}
				if math.IsNaN(sum) {
					b.Fatal(sum)
				}
			})
		}
	}
}
