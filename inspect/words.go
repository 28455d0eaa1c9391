package inspect

import (
	"fmt"
	"math"

	"brightcut/depth"
	"brightcut/engine"
)

// nameOf names a kind of cause within a sentence.
func nameOf(kind string) string {
	switch kind {
	case Extension:
		return "an extension that is off"
	case CreepPerCut:
		return "a creep with every cut"
	case CreepPerHour:
		return "a creep with the hours"
	case Wear:
		return "a cutter that wears"
	case Tilt:
		return "tilted work"
	case Bow:
		return "bowed work"
	case Flex:
		return "another give under the hand"
	case Angle:
		return "another cutter angle"
	case Flat:
		return "a flat at the tip"
	case SlideScrew:
		return "the cross screw's periodic error"
	case SlideRatchet:
		return "a periodic error of the cross slide's ratchet"
	case IndexWheel:
		return "an index wheel off its centre"
	case SlideTeeth:
		return "teeth lost on the cross slide"
	case IndexHoles:
		return "holes lost on the index"
	case PhaseTeeth:
		return "teeth lost on the phase"
	case StopMoved:
		return "a stop that moved"
	case GuideMoved:
		return "a guide that moved"
	}
	return "a misreading"
}

const sharpCaution = "The cutter is sharp: bring it clear of the work and cover it before you touch stop or guide. Local rules come first."

// cause puts a term into words. sd are the standard uncertainties of its sizes.
func (s *search) cause(t *term, sd []float64) Cause {
	k := t.kind
	c := Cause{Kind: k.name, Rivals: []Rival{}, Measure: []Measure{}}
	f := k.unit
	var v, u float64
	if len(t.size) > 0 {
		v, u = f*t.size[0], f*sd[0]
	}
	size := func(name string) { c.Sizes = []Size{{name, v, u, k.sign}} }
	pm := func(v float64) string { return fmt.Sprintf("%s %s", withDoubt(math.Abs(v), u), k.sign) }
	deeper, back := "deeper", "Draw the cutter in"
	if v < 0 {
		deeper, back = "shallower", "Let the cutter out"
	}
	known := func(was float64) *depth.Known { return &depth.Known{Value: was + t.size[0], Uncertainty: sd[0]} }
	j := s.piece.Job
	cal := j.Calibration
	switch k.name {
	case Extension:
		size("deeper")
		c.Text = fmt.Sprintf("All cuts are %s %s than planned.", pm(v), deeper)
		c.Bench, c.Caution = fmt.Sprintf("%s by %s.", back, plain(v)), sharpCaution
		if j.Guide == nil {
			c.Bench = fmt.Sprintf("Set the cutter %s %s.", plain(v), map[bool]string{true: "higher", false: "lower"}[v > 0])
		} else {
			was := 0.0
			if cal != nil && cal.Zero != nil {
				was = cal.Zero.Value
			}
			c.Corrects = &Correction{Zero: known(was)}
		}
	case Angle:
		size("wider angle")
		now := 2 * math.Atan(s.vee.tan) * 180 / math.Pi
		c.Text = fmt.Sprintf("The cutter's included angle is %s, not %.4g°.", withDoubt(now+v, u)+"°", now)
		c.Bench = "Measure the angle, or cut test grooves at two depths; then reckon with what is found, or regrind."
		c.Caution = sharpCaution
		c.Corrects = &Correction{Angle: known(2 * math.Atan(s.vee.tan))}
	case Flat:
		size("wider flat")
		c.Text = fmt.Sprintf("The tip has a flat of %s.", fmt.Sprintf("%s µm", withDoubt(1000*s.vee.flat+v, u)))
		c.Bench, c.Caution = "Look at the tip under the microscope; stone it or reckon with the flat.", sharpCaution
		c.Corrects = &Correction{Flat: known(s.vee.flat)}
	case Flex:
		size("more give")
		c.Text = fmt.Sprintf("Guide and slides give %s %s than reckoned with.", pm(v), more(v))
		c.Bench = fmt.Sprintf("At %.3g N the cutter goes %s %s: press otherwise, or set the extension to match.", j.Hand.Force, plain(v*j.Hand.Force), deeper)
		if j.Guide != nil {
			c.Corrects = &Correction{Compliance: known(j.Guide.Compliance)}
		}
	case CreepPerCut:
		size("deeper")
		c.Text = fmt.Sprintf("The cuts grow %s by %s.", deeper, pm(v))
		c.Bench = "Lock the guide and the extension's screw, let the engine come to the warmth of the room, and measure a width every fifty cuts."
	case CreepPerHour:
		size("deeper")
		c.Text = fmt.Sprintf("The cuts grow %s by %s.", deeper, pm(v))
		c.Bench = "Let engine and work stand in the room's warmth before you begin, and look at the extension after every pause."
	case Wear:
		size("recedes")
		c.Text = fmt.Sprintf("The tip recedes %s that it cuts.", pm(v))
		c.Bench, c.Caution = "Touch the cutter up earlier, and take the extension anew afterwards.", sharpCaution
		c.Corrects = &Correction{Wear: &depth.Known{Value: 1000 * t.size[0], Uncertainty: 1000 * sd[0]}}
	case Tilt:
		c.Sizes = []Size{{"rises to +x", v, u, k.sign}, {"rises to +y", f * t.size[1], f * sd[1], k.sign}}
		rise := math.Hypot(t.size[0], t.size[1])
		c.Text = fmt.Sprintf("The work stands tilted: it rises %.1f ± %.1f µm in 10 mm towards %.0f°.", f*rise, f*math.Hypot(sd[0], sd[1])/math.Sqrt2, degrees(math.Atan2(t.size[1], t.size[0])))
		c.Bench = "True the work on the chuck by the indicator before the next piece; this one cannot be mended by the stop."
	case Bow:
		size("higher in the middle")
		c.Text = fmt.Sprintf("The work stands %s %s in the middle than at the rim, beyond what was read.", pm(v), map[bool]string{true: "higher", false: "lower"}[v > 0])
		c.Bench = "Read the stock's form on the chuck, and let the guide hold the depth where it can."
	case SlideScrew, SlideRatchet:
		s.waves(&c, t, sd)
		of := "screw"
		if k.name == SlideRatchet {
			of = "drive"
		}
		much := withDoubt(c.Sizes[0].Value, c.Sizes[0].Uncertainty) + " µm"
		again := turnsText(t.period, j.Setup.Engine.Slide.Ratchet)
		if len(t.size) == 1 {
			c.Text = fmt.Sprintf("The cross slide's %s has a periodic error of at least %s that comes again every %s.", of, much, again)
			c.Bench = "The steps of this piece meet the error at two places of the screw only: measure a piece stepped otherwise before you reckon with it. Look whether screw, dial and ratchet run true and the thrust bearing is square."
			break
		}
		c.Text = fmt.Sprintf("The cross slide's %s has a periodic error of %s that comes again every %s.", of, much, again)
		c.Bench = "Look whether screw, dial and ratchet run true and the thrust bearing is square; until then reckon with the error."
		c.Corrects = s.correction(t)
	case IndexWheel:
		s.waves(&c, t, sd)
		c.Text = fmt.Sprintf("The index wheel errs by %s ′ once in %.3g of its turns: it sits off its centre.", withDoubt(c.Sizes[0].Value, c.Sizes[0].Uncertainty), t.period)
		c.Bench = "Set the wheel true on its seat by the indicator; until then reckon with the error."
		c.Corrects = s.correction(t)
	case SlideTeeth, IndexHoles, PhaseTeeth:
		s.lost(&c, t)
	case StopMoved:
		size("deeper")
		c.From = t.at + 1
		c.Text = fmt.Sprintf("From about cut %d on the stop stands so that cuts are %s %s.", t.at+1, pm(v), deeper)
		c.Bench, c.Caution = fmt.Sprintf("Turn the stop %s %s, and lock it.", map[bool]string{true: "up", false: "down"}[v > 0], plain(v)), sharpCaution
	case GuideMoved:
		size("deeper")
		c.From = t.at + 1
		what := "guide holds otherwise"
		if j.Guide == nil {
			what = "height of the cutter has changed"
		}
		c.Text = fmt.Sprintf("From about cut %d on the %s: cuts are %s %s.", t.at+1, what, pm(v), deeper)
		c.Bench, c.Caution = fmt.Sprintf("%s by %s, and look what came loose or was changed there: a chip under the foot, a shim, a screw.", back, plain(v)), sharpCaution
	}
	return c
}

func more(v float64) string {
	if v < 0 {
		return "less"
	}
	return "more"
}

func degrees(v float64) float64 { return v * 180 / math.Pi }

// plain tells a length to set, µm.
func plain(v float64) string {
	v = math.Abs(v)
	if v < 10 {
		return fmt.Sprintf("%.1f µm", v)
	}
	return fmt.Sprintf("%.0f µm", v)
}

// withDoubt tells a value with its standard uncertainty, to two digits of it.
func withDoubt(v, u float64) string {
	n := 3
	if u > 0 {
		n = min(6, max(0, 1-int(math.Floor(math.Log10(u)))))
	}
	return fmt.Sprintf("%.*f ± %.*f", n, v, n, u)
}

func turnsText(period float64, ratchet int) string {
	switch {
	case period == 1:
		return "turn of the screw"
	case period == math.Trunc(period):
		return fmt.Sprintf("%.0f turns", period)
	}
	return fmt.Sprintf("%.3g turns (%.4g teeth)", period, period*float64(ratchet))
}

// waves fills in the sizes of a periodic error.
func (s *search) waves(c *Cause, t *term, sd []float64) {
	f := t.kind.unit
	if len(t.size) == 1 {
		c.Sizes = []Size{{"size at least", f * math.Abs(t.size[0]), f * sd[0], t.kind.sign}, {"period", t.period, 0, "turns"}}
		return
	}
	p := periodicOf(t)
	// The uncertainty of the size is that along the phase.
	a, b := t.size[0]/p.Size, t.size[1]/p.Size
	u := math.Hypot(a*sd[0], b*sd[1])
	c.Sizes = []Size{{"size", f * p.Size, f * u, t.kind.sign}, {"period", t.period, 0, "turns"},
		{"passes 0 rising at", p.From, t.period / (2 * math.Pi) * math.Hypot(b*sd[0], a*sd[1]) / p.Size, "turns"}}
}

// periodicOf turns the sizes of sine and cosine into size and phase.
func periodicOf(t *term) engine.Periodic {
	from := math.Mod(-math.Atan2(t.size[1], t.size[0])/(2*math.Pi)*t.period, t.period)
	if from < 0 {
		from += t.period
	}
	if from >= t.period {
		from = 0
	}
	return engine.Periodic{Size: math.Hypot(t.size[0], t.size[1]), Turns: t.period, From: from}
}

// correction joins a periodic error to the one that is known already; nil when they
// do not come again together, for the engine keeps one.
func (s *search) correction(t *term) *Correction {
	e := &s.piece.Job.Setup.Engine
	known := e.Slide.Error
	if t.kind.name == IndexWheel {
		known = e.Index.Error
	}
	p := periodicOf(t)
	if known != nil {
		if math.Abs(known.Turns-p.Turns) > 1e-9*p.Turns {
			return nil
		}
		both := term{period: t.period, size: make([]float64, 2)}
		for _, q := range []engine.Periodic{p, *known} {
			sin, cos := math.Sincos(-2 * math.Pi * q.From / q.Turns)
			both.size[0] += q.Size * cos
			both.size[1] += q.Size * sin
		}
		p = periodicOf(&both)
	}
	if t.kind.name == IndexWheel {
		return &Correction{Index: &p}
	}
	return &Correction{Slide: &p}
}

// lost tells of teeth lost or gained.
func (s *search) lost(c *Cause, t *term) {
	c.From = t.at + 1
	what, one := "cross slide", "tooth"
	switch t.kind.name {
	case IndexHoles:
		what, one = "index", "hole"
	case PhaseTeeth:
		what, one = "phase", "tooth"
	}
	many := map[string]string{"tooth": "teeth", "hole": "holes"}[one]
	c.Sizes = []Size{{"gained", float64(t.teeth), 0, many}}
	moved := 0
	for _, v := range s.piece.List.Cuts[t.at].Moves {
		if v.Axis == t.kind.jumps.axis {
			moved += v.Count
		}
	}
	n := fmt.Sprintf("%d %s", abs(t.teeth), many)
	if abs(t.teeth) == 1 {
		n = "one " + one
	}
	switch {
	case t.teeth == -moved:
		c.Text = fmt.Sprintf("The step of the %s before cut %d was not made.", what, t.at+1)
	case t.teeth == moved:
		c.Text = fmt.Sprintf("The step of the %s before cut %d was made twice.", what, t.at+1)
	case t.teeth*moved < 0:
		c.Text = fmt.Sprintf("The %s lost %s of its %d before cut %d.", what, n, abs(moved), t.at+1)
	default:
		c.Text = fmt.Sprintf("The %s went %s beyond its %d before cut %d.", what, n, abs(moved), t.at+1)
	}
	c.Bench = fmt.Sprintf("Read the dial of the %s against the sheet at cut %d; look at the pawl and its spring, and read the dial after every ten steps.", what, t.at+1)
	c.Caution = "Keep fingers clear of pawl and wheel while the crank moves."
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
