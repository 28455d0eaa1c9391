package sheet

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/bar"
	"brightcut/blank"
	"brightcut/cutter"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/job"
)

// The jobs of an invented workshop, their cuts made by the plainest means: a
// twin of the engine that knows only what these jobs need.

const degree = math.Pi / 180

func longBench() engine.Engine {
	return engine.Engine{Name: "Long bench engine", Kind: engine.StraightLine,
		Slide: engine.Screw{Pitch: 1, Ratchet: 100, Min: -30, Max: 30}, Shift: engine.Screw{Pitch: 2, Ratchet: 100, Min: -60, Max: 60},
		Index: engine.Wheel{Circles: []int{96, 112, 144, 360}, Worm: 1}, Chuck: engine.Wheel{Circles: []int{360}, Worm: 1},
		StrokeMin: -45, StrokeMax: 45, Lever: 1, SecondsPerStroke: 8}
}

func roseEngine() engine.Engine {
	return engine.Engine{Name: "Old rose engine", Kind: engine.Rose, Slide: engine.Screw{Pitch: 1, Ratchet: 100, Max: 40},
		Crossing: engine.Wheel{Circles: []int{192}, Worm: 1}, Chuck: engine.Wheel{Circles: []int{360}, Worm: 1},
		Rocking: 1, Pumping: 0.5, SecondsPerStroke: 25}
}

func bright130() cutter.Cutter {
	return cutter.Cutter{Name: "Bright 130", Included: 130 * degree, Clearance: 15 * degree}
}

func rightFoot() *depth.Guide {
	return &depth.Guide{Name: "Right foot", Offset: 0.6, Side: depth.Right, FootRadius: 0.8, Extension: 0.045, Compliance: 0.0003}
}

func mm(v float64, text string) engine.Amount {
	return engine.Amount{Value: v, Unit: engine.Length, Text: text}
}

func waves(n, d int64, text string) engine.Amount {
	return engine.Amount{Value: float64(n) / float64(d), Num: n, Den: d, Unit: engine.Waves, Text: text}
}

func panel() *job.Job {
	return &job.Job{Title: "Barleycorn panel", Units: job.Millimetre, Digest: "1f00c0de5eed", Metal: cutter.Metal{Name: "silver"}, Guide: rightFoot(),
		Setup: engine.Setup{Engine: longBench(), Bar: "fine-sine", Touch: 0.3, Cutter: bright130(), Depth: 0.045,
			Bars: map[string]bar.Edge{"fine-sine": {Name: "Fine sine", Figure: bar.Sine, Wave: 3, Amplitude: 0.25, Length: 120},
				"coarse-sine": {Name: "Coarse sine", Figure: bar.Sine, Wave: 6, Amplitude: 0.4, Length: 120}},
			Blank: blank.Blank{Metal: "silver", Thickness: 0.8, Border: 1, Outline: blank.Shape{Form: blank.Rectangle, Width: 30, Height: 20, Corner: 1}}}}
}

// stage makes cuts one after another, as the engine does.
type stage struct {
	j     *job.Job
	l     engine.List
	at    engine.Settings
	moves []engine.Move
}

func (s *stage) move(motion engine.Motion, axis engine.Axis, n int, exact float64, wish engine.Amount) {
	p := map[engine.Axis]*int{engine.SlideAxis: &s.at.Slide, engine.IndexAxis: &s.at.Index, engine.ShiftAxis: &s.at.Shift, engine.ChuckAxis: &s.at.Chuck}[axis]
	*p += n
	m := engine.Move{Motion: motion, Axis: axis, Count: n, Exact: exact, Wish: wish, Reading: *p}
	if wish.Unit == engine.Length {
		m.Error = exact - wish.Value
	}
	s.moves = append(s.moves, m)
}

func (s *stage) step(n int, wish engine.Amount) {
	s.move(engine.Step, engine.SlideAxis, n, s.j.Setup.Engine.Slide.Length(n), wish)
}

func (s *stage) shift(n int, wish engine.Amount) {
	s.move(engine.Shift, engine.ShiftAxis, n, 0, wish)
}

func (s *stage) turn(n int) {
	s.move(engine.Turn, engine.IndexAxis, n, 0, engine.Amount{Value: float64(n), Unit: engine.Teeth})
}

// cut makes a stroke with the pieces between the given readings.
func (s *stage) cut(across float64, at func(t float64) r2.Vec, spans ...[2]float64) {
	c := engine.Cut{Number: len(s.l.Cuts) + 1, Settings: s.at, Moves: s.moves, Turned: across, Depth: s.j.Setup.Depth}
	for _, sp := range spans {
		p := engine.Piece{Start: sp[0], Stop: sp[1]}
		const n = 200
		for i := range n + 1 {
			t := sp[0] + (sp[1]-sp[0])*float64(i)/n
			v := at(t)
			p.Path = append(p.Path, engine.Vertex{X: v.X, Y: v.Y, Z: -c.Depth, Across: across})
			p.Readings = append(p.Readings, t)
		}
		c.Pieces = append(c.Pieces, p)
	}
	s.l.Cuts = append(s.l.Cuts, c)
	s.moves = nil
}

// wave is the fine sine at the stage's settings.
func (s *stage) wave(y float64) r2.Vec {
	e := &s.j.Setup.Engine
	b := s.j.Setup.Bars[s.j.Setup.Bar]
	return r2.Vec{X: e.Slide.Length(s.at.Slide) + b.Amplitude*math.Sin(2*math.Pi*(y+e.Shift.Length(s.at.Shift))/b.Wave), Y: y}
}

func barleycorn() (*job.Job, *engine.List) {
	j := panel()
	j.Setup.Sequence = []engine.Item{{Motion: engine.Repeat, Count: 160, Body: []engine.Item{{Motion: engine.CutOne},
		{Motion: engine.Step, Amount: mm(0.156, "0.156 mm")},
		{Motion: engine.Alternate, Choices: [][]engine.Item{{{Motion: engine.Shift, Amount: waves(1, 2, "1/2 wave")}}, {{Motion: engine.Shift, Amount: waves(-1, 2, "-1/2 wave")}}}}}}}
	s := &stage{j: j, at: engine.Settings{Slide: -1280, Bar: "fine-sine"}}
	for i := range 160 {
		if i > 0 {
			s.step(16, mm(0.156, "0.156 mm"))
			if i%2 == 1 {
				s.shift(75, waves(1, 2, "1/2 wave"))
			} else {
				s.shift(-75, waves(-1, 2, "-1/2 wave"))
			}
		}
		s.cut(0, s.wave, [2]float64{-9, 9})
	}
	s.l.Cuts[159].Rounding = []engine.Rounding{{Axis: engine.SlideAxis, This: 0.004, Sum: 0.636}}
	return j, &s.l
}

// basket is groups of four in step that jump half a wave, on a panel with a
// window and ground to be kept clear.
func basket() (*job.Job, *engine.List) {
	j := panel()
	j.Title = "Basket panel with a signature"
	j.Notes = "Warm the chuck before the work is laid in.\n\nWipe the bar with oil."
	b := &j.Setup.Blank
	b.Windows = []blank.Window{{Name: "aperture", Shape: blank.Shape{Form: blank.Rectangle, Width: 6, Height: 5, Centre: r2.Vec{X: 2, Y: 3}}, Border: 0.3, Open: true}}
	b.KeepClear = []blank.Window{{Name: "signature", Shape: blank.Shape{Form: blank.Rectangle, Width: 6, Height: 2, Centre: r2.Vec{X: -7, Y: -6}}}}
	s := &stage{j: j, at: engine.Settings{Slide: -1280, Bar: "fine-sine"}}
	up := 1
	for i := range 160 {
		if i > 0 {
			s.step(16, mm(0.16, "0.16 mm"))
			if i%4 == 0 {
				s.shift(75*up, waves(int64(up), 2, "1/2 wave"))
				up = -up
			}
		}
		x := s.j.Setup.Engine.Slide.Length(s.at.Slide)
		switch {
		case math.Abs(x-2) < 3.55:
			s.cut(0, s.wave, [2]float64{-9, 0.2}, [2]float64{5.8, 9})
		case math.Abs(x+7) < 3.25:
			s.cut(0, s.wave, [2]float64{-9, -7}, [2]float64{-5, 9})
		default:
			s.cut(0, s.wave, [2]float64{-9, 9})
		}
	}
	return j, &s.l
}

func sunburst() (*job.Job, *engine.List) {
	j := panel()
	j.Title = "Sunburst dial"
	j.Metal.Name = "brass"
	j.Setup.Bar, j.Setup.Touch = "", 0
	j.Setup.Limits = &engine.Limits{From: 2, To: 17}
	j.Setup.Circle = 360
	j.Setup.Blank = blank.Blank{Metal: "brass", Thickness: 0.8, Border: 1, Outline: blank.Shape{Form: blank.Ring, Diameter: 36, Inner: 1.5}}
	j.Setup.Sequence = []engine.Item{{Motion: engine.Repeat, Count: 360, Body: []engine.Item{{Motion: engine.CutOne}, {Motion: engine.Turn, Amount: engine.Amount{Value: 1, Unit: engine.Teeth}}}}}
	s := &stage{j: j}
	for i := range 360 {
		if i > 0 {
			s.turn(1)
		}
		sin, cos := math.Sincos(float64(i) * degree)
		s.cut(float64(i)*degree, func(t float64) r2.Vec { return r2.Vec{X: -t * sin, Y: t * cos} }, [2]float64{2, 17})
	}
	s.l.Circle = 360
	s.l.Closures = []engine.Closure{{Axis: engine.IndexAxis, Cuts: 360, Closes: true, Text: "360 cuts go round and close."}}
	return j, &s.l
}

func rings() (*job.Job, *engine.List) {
	j := panel()
	j.Title = "Barleycorn rings"
	j.Guide = nil
	j.Metal.Name = "nickel silver"
	j.Setup.Engine = roseEngine()
	j.Setup.Bar = "twenty-four"
	j.Setup.Bars = map[string]bar.Edge{"twenty-four": {Name: "Twenty-four", Figure: bar.Sine, Radius: 40, Count: 24, Amplitude: 0.08}}
	j.Setup.Blank = blank.Blank{Metal: "nickel silver", Thickness: 1, Border: 0.6, Outline: blank.Shape{Form: blank.Disc, Diameter: 36}}
	s := &stage{j: j, at: engine.Settings{Slide: 200, Bar: "twenty-four"}}
	for i := range 150 {
		if i > 0 {
			s.step(10, mm(0.1, "0.1 mm"))
			s.shift(4, waves(1, 2, "1/2 wave"))
		}
		r, phase := 2+0.1*float64(i), float64(s.at.Shift)*2*math.Pi/192
		s.cut(0, func(t float64) r2.Vec {
			a := r + 0.08*math.Sin(24*(t+phase))
			return r2.Vec{X: a * math.Cos(t), Y: a * math.Sin(t)}
		}, [2]float64{0, 2 * math.Pi})
		s.l.Cuts[i].Pieces[0].Closed = true
	}
	return j, &s.l
}

// disc is the barleycorn on a round blank, in inches: every cut starts and
// stops elsewhere.
func disc() (*job.Job, *engine.List) {
	j, _ := barleycorn()
	j.Title = "Barleycorn disc"
	j.Units = job.Inch
	j.Metal.Name = "leaded brass"
	j.Setup.Blank = blank.Blank{Metal: "leaded brass", Thickness: 0.81, Border: 1, Outline: blank.Shape{Form: blank.Disc, Diameter: 31.75},
		Windows: []blank.Window{{Name: "subdial", Shape: blank.Shape{Form: blank.Disc, Diameter: 8, Centre: r2.Vec{X: 0, Y: -6}}, Border: 0.4}}}
	s := &stage{j: j, at: engine.Settings{Slide: -1440, Bar: "fine-sine"}}
	for i := range 181 {
		if i > 0 {
			s.step(16, mm(0.156, "0.156 mm"))
			if i%2 == 1 {
				s.shift(75, waves(1, 2, "1/2 wave"))
			} else {
				s.shift(-75, waves(-1, 2, "-1/2 wave"))
			}
		}
		x := s.j.Setup.Engine.Slide.Length(s.at.Slide)
		h := math.Sqrt(14.875*14.875 - x*x)
		if w := 4.4*4.4 - x*x; w > 0 {
			s.cut(0, s.wave, [2]float64{-h, -6 - math.Sqrt(w)}, [2]float64{-6 + math.Sqrt(w), h})
		} else {
			s.cut(0, s.wave, [2]float64{-h, h})
		}
	}
	s.l.Warnings = []engine.Warning{{Kind: "heel", First: 1, Last: 181, X: 1, Y: 2, Margin: 0.01, Text: "the path slopes 27.6° and the heel rubs from 32.4°: 4.8° to spare"}}
	return j, &s.l
}

var fixtures = []struct {
	name string
	make func() (*job.Job, *engine.List)
}{
	{"barleycorn", barleycorn}, {"basket", basket}, {"sunburst", sunburst}, {"rings", rings}, {"disc", disc},
}

func each(t *testing.T, do func(t *testing.T, j *job.Job, l *engine.List, s *Sheet)) {
	for _, f := range fixtures {
		t.Run(f.name, func(t *testing.T) {
			j, l := f.make()
			do(t, j, l, New(j, l))
		})
	}
}
