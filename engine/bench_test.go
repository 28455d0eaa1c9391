package engine

import (
	"context"
	"math"
	"testing"

	"brightcut/bar"
	"brightcut/blank"
	"brightcut/cutter"
)

const degree = math.Pi / 180

// amount writes a wish with an exact value.
func amount(num, den int64, u Unit) Amount {
	return Amount{Value: float64(num) / float64(den), Num: num, Den: den, Unit: u}
}

func repeat(n int, body ...Item) Item { return Item{Motion: Repeat, Count: n, Body: body} }
func cut() Item                       { return Item{Motion: CutOne} }
func step(a Amount) Item              { return Item{Motion: Step, Amount: a} }
func turn(a Amount) Item              { return Item{Motion: Turn, Amount: a} }
func shift(a Amount) Item             { return Item{Motion: Shift, Amount: a} }
func chuck(a Amount) Item             { return Item{Motion: Chuck, Amount: a} }
func swap(name string) Item           { return Item{Motion: Swap, Name: name} }
func alternate(c ...[]Item) Item      { return Item{Motion: Alternate, Choices: c} }

// longBench is a straight line engine of an invented workshop.
func longBench() Engine {
	return Engine{
		Name: "Long bench engine", Kind: StraightLine,
		Slide: Screw{Pitch: 1, Ratchet: 100, Min: -30, Max: 30},
		Index: Wheel{Circles: []int{96, 112, 144, 360}, Worm: 1},
		Shift: Screw{Pitch: 2, Ratchet: 100, Min: -60, Max: 60},
		Chuck: Wheel{Circles: []int{360}, Worm: 1},

		StrokeMin: -45, StrokeMax: 45, Lever: 1, SecondsPerStroke: 8,
	}
}

func roseEngine() Engine {
	return Engine{
		Name: "Rose engine", Kind: Rose,
		Slide:    Screw{Pitch: 1, Ratchet: 100, Min: 0, Max: 40},
		Crossing: Wheel{Circles: []int{192}, Worm: 1},
		Chuck:    Wheel{Circles: []int{360}, Worm: 1},
		Rocking:  1, Pumping: 0.5, SecondsPerStroke: 25,
	}
}

func straight(b blank.Blank, sequence ...Item) *Setup {
	return &Setup{
		Engine: longBench(),
		Bars: map[string]bar.Edge{
			"sine":   {Name: "Fine sine", Figure: bar.Sine, Wave: 3, Amplitude: 0.25},
			"coarse": {Name: "Coarse sine", Figure: bar.Sine, Wave: 5, Amplitude: 0.4},
			"plain":  {Name: "Plain", Figure: bar.Plain},
		},
		Bar: "plain", Touch: 0.3,
		Cutter: cutter.Cutter{Included: 130 * degree, Clearance: 15 * degree},
		Blank:  b, Depth: 0.045, Sequence: sequence,
	}
}

func rose(b blank.Blank, sequence ...Item) *Setup {
	s := straight(b, sequence...)
	s.Engine = roseEngine()
	s.Bars = map[string]bar.Edge{
		"plain": {Name: "Plain", Figure: bar.Plain, Radius: 50},
		"24":    {Name: "Twenty-four", Figure: bar.Sine, Radius: 50, Count: 24, Amplitude: 0.08},
		"20":    {Name: "Twenty", Figure: bar.Sine, Radius: 50, Count: 20, Amplitude: 0.08},
		"8":     {Name: "Eight", Figure: bar.Sine, Radius: 50, Count: 8, Amplitude: 0.02},
	}
	return s
}

func panel(w, h float64) blank.Blank {
	return blank.Blank{Thickness: 0.8, Outline: blank.Shape{Form: blank.Rectangle, Width: w, Height: h}}
}

func disc(d float64) blank.Blank {
	return blank.Blank{Thickness: 0.8, Outline: blank.Shape{Form: blank.Disc, Diameter: d}}
}

// waves is workload W1: 160 waves, each half a wave out of phase with the last.
func waves() *Setup {
	s := straight(panel(25, 25), repeat(160, cut(), step(amount(156, 1000, Length)), shift(amount(1, 2, Waves))))
	s.Bar = "sine"
	s.Engine.Shift.Max = 300
	s.Engine.Slide.Ratchet = 1000
	s.Starts = []Start{{Axis: SlideAxis, Amount: amount(-12, 1, Length)}}
	s.Blank.Outline.Width = 27
	return s
}

// sunburst is workload W2: 360 straight rays.
func sunburst() *Setup {
	s := straight(disc(36), repeat(360, cut(), turn(amount(1, 360, Turns))))
	s.Limits = &Limits{2, 17}
	return s
}

// rings is workload W3: 150 rings, each half a wave out of phase with the last.
func rings() *Setup {
	s := rose(disc(36), repeat(150, cut(), step(amount(1, 10, Length)), shift(amount(1, 2, Waves))))
	s.Bar = "24"
	s.Starts = []Start{{Axis: SlideAxis, Amount: amount(2, 1, Length)}}
	return s
}

// wavySunburst is 360 wavy rays of some 400 chords.
func wavySunburst() *Setup {
	s := straight(disc(60), repeat(360, cut(), turn(amount(1, 360, Turns))))
	s.Bar = "sine"
	s.Limits = &Limits{3, 29}
	return s
}

// pumpedRings is W3 with a second rosette that pumps the spindle.
func pumpedRings() *Setup {
	s := rings()
	s.Pump = "8"
	return s
}

// mostCuts is as many short wavy rays as are taken.
func mostCuts() *Setup {
	s := straight(disc(36), repeat(MaxCuts, cut(), turn(amount(1, 360, Turns))))
	s.Bar = "sine"
	s.Limits = &Limits{13, 17}
	return s
}

func BenchmarkCuts(b *testing.B) {
	for _, job := range []struct {
		name  string
		setup *Setup
	}{
		{"W1", waves()}, {"W2", sunburst()}, {"W3", rings()}, {"wavy-360", wavySunburst()},
		{"pumped-rings", pumpedRings()}, {"most-cuts", mostCuts()},
	} {
		b.Run(job.name, func(b *testing.B) {
			b.ReportAllocs()
			var l *List
			for b.Loop() {
				var err error
				if l, err = job.setup.Cuts(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
			n, sum := 0, 0.0
			for i := range l.Cuts {
				for _, p := range l.Cuts[i].Pieces {
					n += len(p.Path)
					sum += p.Path[len(p.Path)/2].X
				}
			}
			b.ReportMetric(float64(n), "vertices")
			b.ReportMetric(float64(len(l.Cuts))*float64(b.N)/b.Elapsed().Seconds(), "cuts/s")
			b.Logf("sum of middles %.9f, length cut %.3f mm", sum, l.LengthCut())
		})
	}
}
