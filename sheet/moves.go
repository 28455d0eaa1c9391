package sheet

import (
	"math"
	"strings"

	"brightcut/bar"
	"brightcut/engine"
	"brightcut/fault"
)

// speaker knows what the words of one job need to know.
type speaker struct {
	units
	setup  *engine.Setup
	circle int // of the index wheel
	fields fields
	lines  map[fault.Origin]string // paths of the lines of the sequence
	edges  func(string) string     // path of a bar of the job, by its name
}

func (k *speaker) rose() bool { return k.setup.Engine.Kind == engine.Rose }

// barName is the display name of a bar that the job calls by name.
func (k *speaker) barName(name string) string {
	if e, ok := k.setup.Bars[name]; ok && e.Name != "" {
		return e.Name
	}
	return name
}

// wave is one wave of the bar, mm, or of the rosette, rad; 0 when it has none.
func (k *speaker) wave(name string) float64 {
	e, ok := k.setup.Bars[name]
	switch {
	case !ok || e.Figure == bar.Plain:
		return 0
	case k.rose() && e.Count > 0:
		return 2 * math.Pi / float64(e.Count)
	case k.rose():
		return 0
	}
	return e.Wave
}

// axis tells an axis's name and how its counts are spoken.
func (k *speaker) axis(a engine.Axis) (name, unit string, spoken func(int) string) {
	switch a {
	case engine.SlideAxis:
		if k.rose() {
			return "the slide", "teeth", teeth
		}
		return "the cross slide", "teeth", teeth
	case engine.IndexAxis:
		return "the index wheel", "holes", holes
	case engine.ShiftAxis:
		if k.rose() {
			return "the crossing wheel", "teeth", teeth
		}
		return "the bar", "teeth", teeth
	case engine.ChuckAxis:
		return "the chuck", "divisions", divisions
	}
	return "", "", func(n int) string { return whole(n) }
}

// gives is the length or angle that a count on an axis makes. An engine without
// the axis makes none.
func (k *speaker) gives(a engine.Axis, n int) (value float64, angle bool) {
	e := &k.setup.Engine
	switch {
	case a == engine.SlideAxis:
		return screw(e.Slide, n), false
	case a == engine.IndexAxis:
		return wheel(e.Index, n, k.circle), true
	case a == engine.ShiftAxis && k.rose():
		return wheel(e.Crossing, n, first(e.Crossing.Circles)), true
	case a == engine.ShiftAxis:
		return screw(e.Shift, n), false
	case a == engine.ChuckAxis:
		return wheel(e.Chuck, n, first(e.Chuck.Circles)), true
	}
	return 0, false
}

func screw(s engine.Screw, n int) float64 {
	if s.Ratchet == 0 {
		return 0
	}
	return s.Length(n)
}

func wheel(w engine.Wheel, n, circle int) float64 {
	if circle == 0 || w.Worm == 0 {
		return 0
	}
	return w.Angle(n, circle)
}

func first(circles []int) int {
	if len(circles) == 0 {
		return 0
	}
	return circles[0]
}

// given is what a count gives, in words: 0.160 mm, 1.5°.
func (k *speaker) given(a engine.Axis, n int) string {
	v, angle := k.gives(a, n)
	if angle {
		return degrees(v)
	}
	return k.length(v)
}

// done are the moves that the operator makes before cut i of the list: a move on
// an axis that is brought to a reading afterwards is spared, and a cut with a
// depth of its own has it set.
func (k *speaker) done(l *engine.List, i int) []engine.Move {
	depth := k.setup.Depth
	if i > 0 {
		depth = l.Cuts[i-1].Depth
	}
	c := &l.Cuts[i]
	moves := make([]engine.Move, 0, len(c.Moves)+1)
	for n, m := range c.Moves {
		if !spared(m, c.Moves[n+1:]) {
			moves = append(moves, m)
		}
		if m.Motion == engine.SetDepth {
			depth = m.Depth
		}
	}
	if c.Depth != depth {
		moves = append(moves, engine.Move{Motion: engine.SetDepth, Depth: c.Depth, Origin: c.Origin})
	}
	return moves
}

// spared says whether a move is undone by a later one.
func spared(m engine.Move, later []engine.Move) bool {
	if !moved(m) {
		return false
	}
	for _, n := range later {
		if n.Motion == engine.Set && n.Axis == m.Axis {
			return true
		}
	}
	return false
}

// barBefore is the bar that stands on the engine before cut i.
func (k *speaker) barBefore(l *engine.List, i int) string {
	if i > 0 {
		return l.Cuts[i-1].Settings.Bar
	}
	return k.setup.Bar
}

// one is what one tooth, hole or division gives.
func (k *speaker) one(a engine.Axis) string {
	v, angle := k.gives(a, 1)
	if angle {
		return degrees(v)
	}
	return k.fine(v)
}

// phrases tells the moves made before a cut, notes left out: "step the cross
// slide 16 teeth (0.160 mm)", "lift the bar 75 teeth (1.500 mm, half a wave)".
func (k *speaker) phrases(moves []engine.Move, barOn string) []Sentence {
	var out []Sentence
	for _, m := range moves {
		switch m.Motion {
		case engine.Step, engine.Turn, engine.Shift, engine.Chuck:
			verb, back := k.verb(m)
			name, unit, spoken := k.axis(m.Axis)
			n := m.Count
			if n < 0 {
				n = -n
			}
			if m.Axis == engine.ChuckAxis {
				out = append(out, say("turn the work "+back, value(k.fields.of(m), spoken(n), unit, k.exact(m, n, barOn)).counted(m.Count), " in the chuck"))
				continue
			}
			out = append(out, say(verb+" "+name+" "+back, value(k.fields.of(m), spoken(n), unit, k.exact(m, n, barOn)).counted(m.Count)))
		case engine.Set:
			name, unit, _ := k.axis(m.Axis)
			text, exact := k.stand(m.Axis, m.Reading)
			out = append(out, say("bring "+name+" to ", value(k.fields.of(m), text, unit, exact).counted(m.Reading)))
		case engine.Swap:
			out = append(out, say("put on the "+k.barWord()+" ", named(k.fields.of(m), k.barName(m.Name))))
			barOn = m.Name
		case engine.SetDepth:
			out = append(out, say("set the depth to ", value(k.fields.of(m), k.micron(m.Depth), k.depthUnit(), k.depthExact(m.Depth))))
		}
	}
	return out
}

func (k *speaker) barWord() string {
	if k.rose() {
		return "rosette"
	}
	return "bar"
}

func (k *speaker) depthUnit() string {
	if k.inch() {
		return "thou"
	}
	return "µm"
}

// depthExact is the width that a depth gives in flat stock.
func (k *speaker) depthExact(depth float64) string {
	w := "a groove " + k.length(k.setup.Cutter.Width(depth)) + " wide"
	if too := k.micronToo(depth); too != "" {
		return too + "; " + w
	}
	return w
}

// stand is where an axis stands or is brought to, as its dial shows it, and what
// that is: "−1280 teeth" and −12.800 mm; "hole 12" and 12°. A wheel shows its
// place in the round, not the rounds behind it.
func (k *speaker) stand(a engine.Axis, n int) (text, exact string) {
	e := &k.setup.Engine
	switch {
	case a == engine.IndexAxis:
		return k.place(e.Index, k.circle, a, n, "hole")
	case a == engine.ShiftAxis && k.rose():
		return k.place(e.Crossing, first(e.Crossing.Circles), a, n, "tooth")
	case a == engine.ChuckAxis:
		return k.place(e.Chuck, first(e.Chuck.Circles), a, n, "division")
	}
	_, _, spoken := k.axis(a)
	return spoken(n), k.given(a, n)
}

// show is stand for a table, where a screw's teeth need not be named again.
func (k *speaker) show(a engine.Axis, n int) (text, exact string) {
	if text, exact = k.stand(a, n); a == engine.SlideAxis || a == engine.ShiftAxis && !k.rose() {
		text = whole(n)
	}
	return text, exact
}

// place names the hole of a circle, and with a worm the whole turns before it.
func (k *speaker) place(w engine.Wheel, circle int, a engine.Axis, n int, hole string) (text, exact string) {
	if circle <= 0 {
		return hole + " " + whole(n), k.given(a, n)
	}
	round := circle * max(1, w.Worm)
	n = (n%round + round) % round
	text = hole + " " + whole(n%circle)
	if n >= circle {
		text = count(n/circle, "turn", "turns") + " + " + text
	}
	return text, k.given(a, n)
}

// dial names the dial of an axis.
func (k *speaker) dial(a engine.Axis) string {
	if a == engine.ShiftAxis && !k.rose() {
		return "bar shift"
	}
	name, _, _ := k.axis(a)
	return strings.TrimPrefix(name, "the ")
}

// verb of a move, and "back " when it goes against the axis.
func (k *speaker) verb(m engine.Move) (verb, back string) {
	if m.Count < 0 {
		back = "back "
	}
	switch {
	case m.Axis == engine.SlideAxis:
		return "step", back
	case m.Axis == engine.ShiftAxis && !k.rose():
		if m.Count < 0 {
			return "lower", ""
		}
		return "lift", ""
	case back == "":
		return "turn", "on "
	}
	return "turn", back
}

// exact tells what a count gives: its length or angle, its share of the wave,
// and the wish where it differs.
func (k *speaker) exact(m engine.Move, n int, barOn string) string {
	out := k.given(m.Axis, n)
	v, angle := k.gives(m.Axis, n)
	if m.Axis == engine.ShiftAxis {
		if w := wavesOf(v, k.wave(barOn)); w != "" {
			out += ", " + w
		}
	}
	err := m.Error
	if m.Count < 0 {
		err = -err // a longer step back is also more
	}
	if off := k.off(err, angle); off != "" {
		out += "; " + off
		if m.Wish.Text != "" {
			out += " than the " + strings.TrimPrefix(strings.TrimPrefix(m.Wish.Text, "-"), "−") + " wished"
		}
	}
	return out
}

// off tells a rounding error, "4 µm more", or nothing when it is too small to
// be written.
func (k *speaker) off(err float64, angle bool) string {
	text := k.micron(math.Abs(err))
	if angle {
		text = degrees(math.Abs(err))
	}
	switch {
	case strings.HasPrefix(text, "0 ") || text == "0°":
		return ""
	case err < 0:
		return text + " less"
	}
	return text + " more"
}

// notes are the words told before a cut.
func notes(moves []engine.Move) []string {
	var out []string
	for _, m := range moves {
		if m.Motion == engine.Note && strings.TrimSpace(m.Name) != "" {
			out = append(out, stop(m.Name))
		}
	}
	return out
}

// before tells everything to be done before a cut: the notes, then the motions
// in one sentence.
func (k *speaker) before(moves []engine.Move, barOn string) Sentence {
	var s Sentence
	for _, n := range notes(moves) {
		if s != nil {
			s = say(s, " ")
		}
		s = say(s, n)
	}
	if done := join(k.phrases(moves, barOn)); done != nil {
		if s != nil {
			s = say(s, " ")
		}
		s = say(s, done)
	}
	return s
}

// action is the short form for counting at the engine.
func (k *speaker) action(moves []engine.Move) string {
	out := notes(moves)
	for _, m := range moves {
		n, way := m.Count, ""
		if n < 0 {
			n, way = -n, " back"
		}
		_, _, spoken := k.axis(m.Axis)
		switch {
		case m.Motion == engine.Set:
			text, _ := k.stand(m.Axis, m.Reading)
			out = append(out, capital(k.dial(m.Axis))+" to "+text+".")
		case m.Motion == engine.Swap:
			out = append(out, "Put on "+named("", k.barName(m.Name)).String()+".")
		case m.Motion == engine.SetDepth:
			out = append(out, "Depth "+k.micron(m.Depth)+".")
		case m.Motion == engine.Note:
		case m.Axis == engine.SlideAxis:
			out = append(out, "Step"+way+" "+spoken(n)+".")
		case m.Axis == engine.IndexAxis:
			out = append(out, "Turn"+way+" "+spoken(n)+".")
		case m.Axis == engine.ChuckAxis:
			out = append(out, "Chuck"+way+" "+spoken(n)+".")
		case m.Axis == engine.ShiftAxis && k.rose():
			out = append(out, "Crossing wheel"+way+" "+spoken(n)+".")
		case m.Axis == engine.ShiftAxis && way == "":
			out = append(out, "Bar up "+spoken(n)+".")
		case m.Axis == engine.ShiftAxis:
			out = append(out, "Bar down "+spoken(n)+".")
		}
	}
	return strings.Join(out, " ")
}
