package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"brightcut/bar"
	"brightcut/blank"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/job"
)

// setUp tells how the bench is made ready, in the order in which it is done.
func (k *speaker) setUp(j *job.Job, l *engine.List) []Sentence {
	s := k.blank(j)
	s = append(s, k.engine(l)...)
	s = append(s, k.bars(l)...)
	s = append(s, k.cutter()...)
	if j.Guide != nil {
		s = append(s, k.guide(j.Guide)...)
	}
	s = append(s, k.depth(j))
	if from, to, ok := k.limits(); ok {
		s = append(s, say("Cut only between the readings ", from, " and ", to, " of ", k.scale(), "."))
	}
	if start := k.start(l); start != nil {
		s = append(s, start)
	}
	return s
}

func (k *speaker) blank(j *job.Job) []Sentence {
	b := &k.setup.Blank
	metal := j.Metal.Name
	if metal == "" {
		metal = b.Metal
	}
	s := say("Take a blank of ", value("blank.metal", metal, "", ""))
	if b.Thickness > 0 {
		s = say(s, ", ", value("blank.thickness", k.size(b.Thickness), k.name(), ""), " thick")
	}
	s = say(s, ": ", k.shape("blank.outline", b.Outline))
	if b.Border > 0 {
		s = say(s, "; leave a border of ", value("blank.border", k.size(b.Border), k.name(), ""), " inside its edge uncut")
	}
	out := []Sentence{say(s, ".")}
	for i, w := range b.Windows {
		s := k.window(fmt.Sprintf("blank.windows[%d]", i), w, "the window", "uncut")
		if w.Open {
			s = say(s, "; the metal is cut through there")
		}
		out = append(out, say("Leave ", s, ".").plainAfter(mostWindows, i))
	}
	for i, w := range b.KeepClear {
		s := k.window(fmt.Sprintf("blank.keep_clear[%d]", i), w, "the ground", "clear")
		out = append(out, say("Keep ", s, ": no cut and no foot of a guide may touch it.").plainAfter(mostWindows, i))
	}
	return compact(out)
}

// plainAfter drops a sentence past the most that a sheet lists.
func (s Sentence) plainAfter(most, i int) Sentence {
	switch {
	case i < most:
		return s
	case i == most:
		return words("More of these are left out here; the drawing shows them.")
	}
	return nil
}

// compact leaves out the empty sentences.
func compact(s []Sentence) []Sentence {
	out := s[:0]
	for _, p := range s {
		if len(p) > 0 {
			out = append(out, p)
		}
	}
	return out
}

func (k *speaker) window(field string, w blank.Window, what, how string) Sentence {
	s := say(what)
	if w.Name != "" {
		s = say(s, " ", named(field+".name", w.Name))
	}
	s = say(s, " "+how+", ", k.shape(field, w.Shape))
	if c := w.Shape.Centre; c.X != 0 || c.Y != 0 {
		s = say(s, " at ", value(field+".centre", k.point(c.X, c.Y), k.name(), ""))
	}
	if w.Border > 0 {
		s = say(s, ", with ", value(field+".border", k.size(w.Border), k.name(), ""), " round it")
	}
	return s
}

// shape tells a figure: "a rectangle 30 mm wide and 20 mm high".
func (k *speaker) shape(field string, f blank.Shape) Sentence {
	size := func(key string, mm float64) Part { return value(field+"."+key, k.size(mm), k.name(), "") }
	var s Sentence
	switch f.Form {
	case blank.Disc:
		s = say("a disc ", size("diameter", f.Diameter), " across")
	case blank.Ring:
		s = say("a ring ", size("diameter", f.Diameter), " across outside and ", size("inner", f.Inner), " inside")
	case blank.Rectangle:
		s = say("a rectangle ", size("width", f.Width), " wide and ", size("height", f.Height), " high")
		if f.Corner > 0 {
			s = say(s, " with corners of ", size("corner", f.Corner), " radius")
		}
	case blank.Polygon:
		box := f.Bounds()
		s = say("a polygon of ", value(field+".points", fmt.Sprint(len(f.Points)), "", ""), " corners, ",
			k.size(box.Max.X-box.Min.X)+" by "+k.size(box.Max.Y-box.Min.Y)+" over all")
	}
	if f.Angle != 0 && (f.Form == blank.Rectangle || f.Form == blank.Polygon) {
		s = say(s, ", turned by ", value(field+".angle", degrees(f.Angle), "°", ""))
	}
	return s
}

// engine names the machine and says what one tooth of each screw gives, so that
// every count on the sheet can be checked at the dial.
func (k *speaker) engine(l *engine.List) []Sentence {
	e := &k.setup.Engine
	kind := "straight line engine"
	if k.rose() {
		kind = "rose engine"
	}
	s := say("Make ready ", named("engine", orElse(e.Name, "the engine")), ", a "+kind)
	var steps []string
	for _, a := range []engine.Axis{engine.SlideAxis, engine.IndexAxis, engine.ShiftAxis, engine.ChuckAxis} {
		v, _ := k.gives(a, 1)
		if v == 0 || !used(l, a) && a != engine.SlideAxis {
			continue
		}
		_, _, spoken := k.axis(a)
		name := "the " + k.dial(a)
		if a == engine.IndexAxis {
			name = fmt.Sprintf("the index wheel's circle of %d", k.circle)
		}
		steps = append(steps, spoken(1)+" of "+name+" is "+k.one(a))
	}
	if len(steps) > 0 {
		s = say(s, ": "+list(steps))
	}
	out := []Sentence{say(s, ".")}
	if p := e.Slide.Error; p != nil {
		out = append(out, words(fmt.Sprintf("The screw of the %s is known to be up to %s off to either side, again %s; the cuts are reckoned with it.", k.dial(engine.SlideAxis), k.micron(p.Size), again(p.Turns))))
	}
	if p := e.Index.Error; p != nil && used(l, engine.IndexAxis) {
		out = append(out, words(fmt.Sprintf("The index wheel is known to be up to %.4f° off to either side, again %s; the cuts are reckoned with it.", p.Size*180/math.Pi, again(p.Turns))))
	}
	if k.circle > 0 && used(l, engine.IndexAxis) {
		out = append(out, say("Set the detent of the index wheel in the circle of ", value("index_circle", count(k.circle, "hole", "holes"), "holes", ""), "."))
	}
	return out
}

// again says after how many turns an error comes again.
func again(turns float64) string {
	if turns == 1 {
		return "each turn"
	}
	return "after " + strconv.FormatFloat(turns, 'g', 4, 64) + " turns"
}

// used says whether an axis is moved or stands off its zero.
func used(l *engine.List, a engine.Axis) bool {
	for i := range l.Cuts {
		if counts(l.Cuts[i].Settings, a) != 0 {
			return true
		}
		for _, m := range l.Cuts[i].Moves {
			if m.Axis == a && moved(m) {
				return true
			}
		}
	}
	return false
}

// moved says whether a move belongs to an axis.
func moved(m engine.Move) bool {
	switch m.Motion {
	case engine.Step, engine.Turn, engine.Shift, engine.Chuck, engine.Set:
		return true
	}
	return false
}

func counts(s engine.Settings, a engine.Axis) int {
	switch a {
	case engine.SlideAxis:
		return s.Slide
	case engine.IndexAxis:
		return s.Index
	case engine.ShiftAxis:
		return s.Shift
	case engine.ChuckAxis:
		return s.Chuck
	}
	return 0
}

func (k *speaker) bars(l *engine.List) []Sentence {
	touch, key := "touchpiece", "bar"
	if k.rose() {
		touch, key = "rubber", "rosette"
	}
	var out []Sentence
	if k.setup.Bar != "" {
		s := say("Put on the "+key+" ", named(key, k.barName(k.setup.Bar)), k.edge(key, k.setup.Bars[k.setup.Bar]))
		if k.setup.Touch > 0 {
			s = say(s, ", and a "+touch+" of ", value(touch, k.size(k.setup.Touch), k.name(), ""), " radius")
		}
		out = append(out, say(s, "."))
	} else if k.setup.Touch > 0 {
		out = append(out, say("Fit a "+touch+" of ", value(touch, k.size(k.setup.Touch), k.name(), ""), " radius."))
	}
	for _, name := range swapped(l) {
		if name != k.setup.Bar {
			field := k.edges(name)
			out = append(out, say("Lay the "+key+" ", named(orElse(field, key+"s"), k.barName(name)), " ready", k.edge(orElse(field, key+"s"), k.setup.Bars[name]), "."))
		}
	}
	if k.setup.Pump != "" {
		s := say("Put on the pumping rosette ", named("pumping_rosette", k.barName(k.setup.Pump)), k.edge("pumping_rosette", k.setup.Bars[k.setup.Pump]))
		if p := k.setup.Engine.Pumping; p > 0 && p != 1 {
			s = say(s, "; the spindle moves ", value("engine.pumping", trimmed(p, 4), "", ""), " of its height")
		}
		out = append(out, say(s, "."))
	}
	if k.setup.Bar == "" {
		return out
	}
	if r := k.setup.Engine.Lever; !k.rose() && r > 0 && r != 1 {
		out = append(out, say("Set the amplitude lever to ", value("engine.lever", trimmed(r, 4), "", ""), " of the bar's height."))
	}
	if r := k.setup.Engine.Rocking; k.rose() && r > 0 && r != 1 {
		out = append(out, say("Set the rocking to ", value("engine.rocking", trimmed(r, 4), "", ""), " of the rosette's height."))
	}
	return out
}

// swapped are the bars that the sequence puts on, in the order of their turn.
func swapped(l *engine.List) []string {
	var names []string
	seen := map[string]bool{}
	for i := range l.Cuts {
		for _, m := range l.Cuts[i].Moves {
			if m.Motion == engine.Swap && !seen[m.Name] {
				seen[m.Name] = true
				names = append(names, m.Name)
			}
		}
	}
	return names
}

// edge tells what a bar's edge is: " (sine, a wave of 3 mm, amplitude 0.25 mm)".
func (k *speaker) edge(field string, e bar.Edge) Sentence {
	what := map[bar.Figure]string{bar.Plain: "a plain edge", bar.Sine: "sine", bar.Trapezoid: "trapezoid", bar.Arcs: "arcs",
		bar.Zigzag: "zigzag", bar.Points: "drawn", bar.Bumps: "bumps", bar.Harmonics: "a sum of sines", bar.Blend: "a blend of two"}[e.Figure]
	if what == "" {
		return nil
	}
	s := say(" (", value(field+".figure", what, "", ""))
	if e.Radius > 0 {
		s = say(s, ", radius ", value(field+".radius", k.size(e.Radius), k.name(), ""))
	}
	if e.Count > 0 && e.Figure != bar.Plain {
		s = say(s, ", ", value(field+".count", count(e.Count, "bump", "bumps"), "bumps", ""))
	}
	if e.Figure == bar.Bumps && e.Count == 0 && len(e.Heights) > 0 {
		s = say(s, ", ", value(field+".heights", count(len(e.Heights), "bump", "bumps"), "bumps", ""))
	}
	if e.Wave > 0 && e.Figure != bar.Plain {
		s = say(s, ", a wave of ", value(field+".wave", k.size(e.Wave), k.name(), ""))
	}
	if e.Amplitude > 0 && e.Figure != bar.Plain {
		s = say(s, ", amplitude ", value(field+".amplitude", k.size(e.Amplitude), k.name(), ""))
	}
	return say(s, ")")
}

func (k *speaker) cutter() []Sentence {
	c := k.setup.Cutter
	s := say("Fit the cutter ", named("cutter", orElse(c.Name, "of the job")), ": ",
		value("cutter.included", degrees(c.Included), "°", ""), " between the flanks, ")
	if c.Flat > 0 {
		s = say(s, "a flat of ", value("cutter.flat", k.size(c.Flat), k.name(), ""), " at the tip")
	} else {
		s = say(s, "a sharp tip")
	}
	if c.Clearance > 0 {
		s = say(s, ", ", value("cutter.clearance", degrees(c.Clearance), "°", ""), " of clearance behind the edge")
	}
	return []Sentence{say(s, ". Its face stands square to the stroke.")}
}

func (k *speaker) guide(g *depth.Guide) []Sentence {
	side, key := "right", "guide"
	if g.Side == depth.Left {
		side = "left"
	}
	s := say("Set the guide ", named(key, orElse(g.Name, "of the job")), " on the ", value(key+".side", side, "", ""),
		" of the cutter, its foot ", value(key+".offset", k.size(g.Offset), k.name(), ""), " from the tip across the stroke")
	switch {
	case g.FootRadius > 0:
		s = say(s, " (a round foot of ", value(key+".foot_radius", k.size(g.FootRadius), k.name(), ""), " radius)")
	case g.FootWidth > 0:
		s = say(s, " (a flat foot ", value(key+".foot_width", k.size(g.FootWidth), k.name(), ""), " wide)")
	}
	out := []Sentence{say(s, ".")}
	s = say("Let the cutter stand out ", value(key+".extension", k.micron(g.Extension), k.depthUnit(), k.micronToo(g.Extension)), " beyond the foot")
	if g.Compliance > 0 {
		// mm/N to µm/N.
		s = say(s, "; the guide gives ", value(key+".compliance", trimmed(g.Compliance*1000, 3)+" µm", "µm/N", ""), " for each newton of the hand")
	}
	return append(out, say(s, "."))
}

func (k *speaker) depth(j *job.Job) Sentence {
	s := say("Cut ", value("depth", k.micron(k.setup.Depth), k.depthUnit(), k.micronToo(k.setup.Depth)), " deep: in flat stock a groove ",
		k.length(k.setup.Cutter.Width(k.setup.Depth))+" wide")
	if j.Planned() {
		return say(s, ". How it is held is told under Depth. Try it on scrap of the same metal and measure the width.")
	}
	if j.Guide == nil {
		return say(s, ". The job names no guide: hold the depth by the stop or by hand, and try it on scrap of the same metal.")
	}
	return say(s, ". Try it on scrap of the same metal and measure the width.")
}

// scale names what start and stop are read on.
func (k *speaker) scale() string {
	if k.rose() {
		return "the spindle"
	}
	return "the stroke"
}

func (k *speaker) limits() (from, to Part, ok bool) {
	l := k.setup.Limits
	if l == nil {
		return
	}
	if k.rose() {
		return value("limits.from", degrees(l.From), "°", ""), value("limits.to", degrees(l.To), "°", ""), true
	}
	return value("limits.from", k.size(l.From), k.name(), ""), value("limits.to", k.size(l.To), k.name(), ""), true
}

// start tells the readings before the first cut and the moves that lead to it.
func (k *speaker) start(l *engine.List) Sentence {
	if len(l.Cuts) == 0 {
		return nil
	}
	var phrases []Sentence
	for _, a := range []engine.Axis{engine.SlideAxis, engine.IndexAxis, engine.ShiftAxis, engine.ChuckAxis} {
		if a != engine.SlideAxis && !used(l, a) {
			continue
		}
		n := counts(l.Cuts[0].Settings, a)
		for _, m := range l.Cuts[0].Moves {
			if m.Axis == a && moved(m) {
				n -= m.Count
			}
		}
		name, unit, _ := k.axis(a)
		text, exact := k.stand(a, n)
		phrases = append(phrases, say(name+" to ", value("start."+axisKeys[a], text, unit, exact).counted(n)))
	}
	if len(phrases) == 0 {
		return nil
	}
	phrases[0] = say("before the first cut bring ", phrases[0])
	s := join(phrases)
	if then := k.before(k.done(l, 0), k.setup.Bar); then != nil {
		s = say(s, " Then: ", then)
	}
	return s
}

func orElse(text, other string) string {
	if strings.TrimSpace(text) == "" {
		return other
	}
	return text
}

// finite says whether every number may be shown; what is not a number is drawn
// and added nowhere.
func finite(v ...float64) bool {
	for _, x := range v {
		if math.IsNaN(x) || math.IsInf(x, 0) {
			return false
		}
	}
	return true
}
