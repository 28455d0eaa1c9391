package sheet

import (
	"math"
	"testing"

	"brightcut/engine"
	"brightcut/job"
)

func TestWords(t *testing.T) {
	metric, imperial := units(job.Millimetre), units(job.Inch)
	for _, c := range []struct{ got, want string }{
		{teeth(1), "1 tooth"}, {teeth(16), "16 teeth"}, {teeth(-1), "−1 tooth"}, {holes(0), "0 holes"}, {divisions(90), "90 divisions"},
		{metric.length(0.16), "0.160 mm"}, {metric.length(-12.5), "−12.500 mm"}, {metric.length(-0.0001), "0.000 mm"},
		// 25.4 mm to the inch, exactly: the yard and pound agreement of 1959.
		{imperial.length(25.4), "1.0000 in"}, {imperial.length(0.16), "0.0063 in"}, {imperial.micron(0.0254), "1 thou"},
		// A cross slide of 14 threads to the inch with 64 teeth steps 0.453571 mm in
		// 16 teeth, the worked example of a workshop's published notes.
		{metric.length(engine.Screw{Pitch: 25.4 / 14, Ratchet: 64}.Length(16)), "0.454 mm"},
		{metric.micron(0.045), "45 µm"}, {metric.micron(0.0525), "52.5 µm"}, {metric.micron(-0.004), "−4 µm"},
		{metric.size(30), "30 mm"}, {metric.size(0.8), "0.8 mm"}, {imperial.size(31.75), "1.25 in"},
		{metric.reading(-9.004), "−9.00"}, {imperial.reading(25.4), "1.000"},
		{degrees(math.Pi), "180°"}, {degrees(-math.Pi / 2), "−90°"}, {degrees(2 * math.Pi / 112), "3.214°"},
		{metric.far(4032), "4.03 m"}, {metric.far(12.34), "12.3 mm"}, {imperial.far(254), "10.0 in"},
		{duration(45), "45 s"}, {duration(1280), "21 min"}, {duration(9000), "2 h 30 min"}, {duration(1e6), "278 h"},
		{wavesOf(1.5, 3), "half a wave"}, {wavesOf(-0.75, 3), "a quarter of a wave"}, {wavesOf(2.25, 3), "three quarters of a wave"},
		{wavesOf(1, 3), "1/3 of a wave"}, {wavesOf(3, 3), "one wave"}, {wavesOf(6, 3), "2 waves"}, {wavesOf(4.5, 3), "1 1/2 waves"},
		{wavesOf(1.49, 3), "0.497 of a wave"}, {wavesOf(4.49, 3), "1.497 waves"}, {wavesOf(1, 0), ""}, {wavesOf(1, math.Inf(1)), ""}, {wavesOf(math.NaN(), 3), "NaN waves"},
		{list([]string{"a", "b", "c"}), "a, b and c"}, {stop("Wipe the work"), "Wipe the work."}, {stop("Done?"), "Done?"}, {stop(""), ""},
		{capital("ölen"), "Ölen"}, {oneLine(" a\tb\r\n\x00c\u2028d\xff "), "a b c d\ufffd"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// TestMovesSpoken is the table of every motion on both engines.
func TestMovesSpoken(t *testing.T) {
	straight, _ := barleycorn()
	rose, _ := rings()
	one := func(m engine.Motion, a engine.Axis, n, reading int) []engine.Move {
		return []engine.Move{{Motion: m, Axis: a, Count: n, Reading: reading}}
	}
	for _, c := range []struct {
		j            *job.Job
		moves        []engine.Move
		full, action string
	}{
		{straight, nil, "", "Cut."},
		{straight, one(engine.Step, engine.SlideAxis, 16, 0), "Step the cross slide 16 teeth (0.160 mm).", "Step 16 teeth."},
		{straight, one(engine.Step, engine.SlideAxis, -1, 0), "Step the cross slide back 1 tooth (0.010 mm).", "Step back 1 tooth."},
		{straight, append(one(engine.Step, engine.SlideAxis, 16, 0), one(engine.Shift, engine.ShiftAxis, 75, 75)...),
			"Step the cross slide 16 teeth (0.160 mm) and lift the bar 75 teeth (1.500 mm, half a wave).", "Step 16 teeth. Bar up 75 teeth."},
		{straight, one(engine.Shift, engine.ShiftAxis, -50, 0), "Lower the bar 50 teeth (1.000 mm, 1/3 of a wave).", "Bar down 50 teeth."},
		{straight, one(engine.Turn, engine.IndexAxis, 1, 1), "Turn the index wheel on 1 hole (1°).", "Turn 1 hole."},
		{straight, one(engine.Turn, engine.IndexAxis, -3, 0), "Turn the index wheel back 3 holes (3°).", "Turn back 3 holes."},
		{straight, one(engine.Chuck, engine.ChuckAxis, 90, 90), "Turn the work on 90 divisions (90°) in the chuck.", "Chuck 90 divisions."},
		{straight, one(engine.Chuck, engine.ChuckAxis, -90, 90), "Turn the work back 90 divisions (90°) in the chuck.", "Chuck back 90 divisions."},
		{straight, one(engine.Set, engine.SlideAxis, 5, -1000), "Bring the cross slide to −1000 teeth (−10.000 mm).", "Cross slide to −1000 teeth."},
		{straight, one(engine.Set, engine.ShiftAxis, 5, 0), "Bring the bar to 0 teeth (0.000 mm).", "Bar shift to 0 teeth."},
		{straight, one(engine.Set, engine.IndexAxis, 5, 372), "Bring the index wheel to hole 12 (12°).", "Index wheel to hole 12."},
		{straight, []engine.Move{{Motion: engine.Swap, Name: "coarse-sine"}, {Motion: engine.Shift, Axis: engine.ShiftAxis, Count: 150}},
			"Put on the bar “Coarse sine” and lift the bar 150 teeth (3.000 mm, half a wave).", "Put on “Coarse sine”. Bar up 150 teeth."},
		{straight, []engine.Move{{Motion: engine.SetDepth, Depth: 0.05}}, "Set the depth to 50 µm (a groove 0.214 mm wide).", "Depth 50 µm."},
		// A step that the set after it undoes is spared.
		{straight, append(one(engine.Step, engine.SlideAxis, 50, 0), engine.Move{Motion: engine.Chuck, Axis: engine.ChuckAxis, Count: 90}, engine.Move{Motion: engine.Set, Axis: engine.SlideAxis, Reading: -1450}),
			"Turn the work on 90 divisions (90°) in the chuck and bring the cross slide to −1450 teeth (−14.500 mm).", "Chuck 90 divisions. Cross slide to −1450 teeth."},
		{straight, []engine.Move{{Motion: engine.Note, Name: "Wipe the work"}, {Motion: engine.Step, Axis: engine.SlideAxis, Count: 2}},
			"Wipe the work. Step the cross slide 2 teeth (0.020 mm).", "Wipe the work. Step 2 teeth."},
		{straight, []engine.Move{{Motion: engine.Step, Axis: engine.SlideAxis, Count: 16, Error: 0.004, Wish: mm(0.156, "0.156 mm")}},
			"Step the cross slide 16 teeth (0.160 mm; 4 µm more than the 0.156 mm wished).", "Step 16 teeth."},
		{straight, []engine.Move{{Motion: engine.Step, Axis: engine.SlideAxis, Count: -16, Error: -0.004, Wish: mm(-0.156, "-0.156 mm")}},
			"Step the cross slide back 16 teeth (0.160 mm; 4 µm more than the 0.156 mm wished).", "Step back 16 teeth."},
		{rose, one(engine.Step, engine.SlideAxis, 10, 0), "Step the slide 10 teeth (0.100 mm).", "Step 10 teeth."},
		{rose, one(engine.Shift, engine.ShiftAxis, 4, 4), "Turn the crossing wheel on 4 teeth (7.5°, half a wave).", "Crossing wheel 4 teeth."},
		{rose, one(engine.Shift, engine.ShiftAxis, -1, 4), "Turn the crossing wheel back 1 tooth (1.875°, 1/8 of a wave).", "Crossing wheel back 1 tooth."},
		{rose, one(engine.Set, engine.ShiftAxis, -1, 200), "Bring the crossing wheel to tooth 8 (15°).", "Crossing wheel to tooth 8."},
	} {
		c.j.Setup.Circle = 360
		cut := &engine.Cut{Number: 1, Moves: c.moves, Depth: c.j.Setup.Depth}
		for _, m := range c.moves {
			if m.Motion == engine.SetDepth {
				cut.Depth = m.Depth
			}
		}
		s := New(c.j, &engine.List{Cuts: []engine.Cut{*cut}})
		if got := s.Moves(cut).String(); got != c.full {
			t.Errorf("told as  %s\nwant     %s", got, c.full)
		}
		if got := s.Action(cut); got != c.action {
			t.Errorf("called as %s\nwant      %s", got, c.action)
		}
	}
}

// TestDividing tells the worked examples of a head of 40 to 1: 35° is three
// turns and 16 of 18, 11½° is one turn and 5 of 18 (Machinery's Handbook, 1916).
func TestDividing(t *testing.T) {
	j, _ := barleycorn()
	j.Setup.Engine.Index = engine.Wheel{Circles: []int{18}, Worm: 40}
	j.Setup.Circle = 18
	k := New(j, &engine.List{}).voice
	for n, want := range map[int]string{3*18 + 16: "3 turns + hole 16 (35°)", 18 + 5: "1 turn + hole 5 (11.5°)", 40*18 + 2: "hole 2 (1°)"} {
		text, exact := k.stand(engine.IndexAxis, n)
		if got := text + " (" + exact + ")"; got != want {
			t.Errorf("%d holes: %s, want %s", n, got, want)
		}
	}
}

// TestFields finds the line of the sequence behind a move, and names none where
// two lines ask the same.
func TestFields(t *testing.T) {
	j, l := barleycorn()
	s := New(j, l)
	want := map[string]string{"16 teeth": "sequence[0].do[1].step", "75 teeth": "sequence[0].do[2].alternate[0].shift"}
	for _, p := range s.Moves(&l.Cuts[1]) {
		if p.Value && p.Field != want[p.Text] {
			t.Errorf("%s comes from %q, want %q", p.Text, p.Field, want[p.Text])
		}
	}
	j.Setup.Sequence = append(j.Setup.Sequence, engine.Item{Motion: engine.Step, Amount: mm(0.156, "0.156 mm")})
	for _, p := range New(j, l).Moves(&l.Cuts[1]) {
		if p.Text == "16 teeth" && p.Field != "" {
			t.Errorf("two lines ask for %s, but %q is named", p.Text, p.Field)
		}
	}
}

// TestDepthOfItsOwn: a cut with a depth of its own has it set before, and the
// common depth again after.
func TestDepthOfItsOwn(t *testing.T) {
	j := panel()
	s := &stage{j: j}
	for i := range 6 {
		if i > 0 {
			s.step(16, engine.Amount{})
		}
		s.cut(0, s.wave, [2]float64{-9, 9})
	}
	s.l.Cuts[3].Depth = 0.08
	sh := New(j, &s.l)
	for i, want := range []string{"Cut.", "Step 16 teeth.", "Step 16 teeth.", "Step 16 teeth. Depth 80 µm.", "Step 16 teeth. Depth 45 µm.", "Step 16 teeth."} {
		if got := sh.Action(&s.l.Cuts[i]); got != want {
			t.Errorf("cut %d: %s, want %s", i+1, got, want)
		}
	}
	if got, want := sh.Table[2].Rows[0].Motion.String(), "Step the cross slide 16 teeth (0.160 mm) and set the depth to 80 µm (a groove 0.343 mm wide)."; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}

// TestStart: the set-up ends where the engine stands before the moves that lead
// to the first cut, and tells those.
func TestStart(t *testing.T) {
	j := panel()
	s := &stage{j: j, at: engine.Settings{Slide: -1280}}
	s.step(30, engine.Amount{})
	s.moves = append(s.moves, engine.Move{Motion: engine.Note, Name: "Wipe the bar"}, engine.Move{Motion: engine.SetDepth, Depth: 0.03})
	j.Setup.Depth = 0.03
	s.cut(0, s.wave, [2]float64{-9, 9})
	setup := New(j, &s.l).Setup
	want := "Before the first cut bring the cross slide to −1280 teeth (−12.800 mm). Then: Wipe the bar. " +
		"Step the cross slide 30 teeth (0.300 mm) and set the depth to 30 µm (a groove 0.129 mm wide)."
	if got := setup[len(setup)-1].String(); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	j.Setup.Depth = 0.045 // the same with the depth really changing
	if got, want := New(j, &s.l).Action(&s.l.Cuts[0]), "Wipe the bar. Step 30 teeth. Depth 30 µm."; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
