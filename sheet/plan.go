package sheet

import (
	"fmt"
	"math"
	"slices"

	"brightcut/blank"
	"brightcut/depth"
	"brightcut/engine"
	"brightcut/job"
)

// planned tells how the depth is held: every choice of the plan, in the order in
// which it matters at the bench, the ways side by side, and which test cuts it
// goes by.
func planned(j *job.Job, p *depth.Plan) []Sentence {
	if p == nil {
		return nil
	}
	var out []Sentence
	if j.Stock != nil && j.Stock.Readings != nil && !j.Stock.Untrued {
		out = append(out, words(fmt.Sprintf("True the work on the chuck first; its form is that of %s.", readings(len(j.Stock.Readings.Points)))))
	}
	if c := j.Calibration; c != nil {
		out = append(out, words(fmt.Sprintf("Cutter and guide are as the %s of %s found them%s.", c.Source(), c.Date, found(c))))
	}
	if set, gives := j.Extension(); j.Guide != nil && math.Abs(gives-j.Setup.Depth) > 0.2*p.Tolerance*j.Setup.Depth {
		out = append(out, words(fmt.Sprintf("As it is set the guide gives %.1f µm on flat ground; for the depth wished let the cutter stand out %.1f µm, not %.1f.", 1000*gives, 1000*set, 1000*j.Guide.Extension)))
	}
	for _, c := range p.Choices {
		out = append(out, words(stop(typeset(c.Text))))
	}
	return out
}

func readings(n int) string {
	if n == 1 {
		return "1 reading"
	}
	return fmt.Sprintf("%d readings", n)
}

// found tells the values that the test cuts found.
func found(c *job.Calibration) string {
	text := ""
	add := func(format string, k *depth.Known, scale float64) {
		if k != nil {
			sign := ", "
			if text == "" {
				sign = ": "
			}
			text += sign + fmt.Sprintf(format, scale*k.Value, scale*k.Uncertainty)
		}
	}
	add("%.2f ± %.2f° between the flanks", c.Angle, 180/math.Pi)
	add("a flat of %.1f ± %.1f µm", c.Flat, 1000)
	add("the extension %+.1f ± %.1f µm off its scale", c.Zero, 1000)
	add("a give of %.2f ± %.2f µm for each newton", c.Compliance, 1000)
	add("the tip receding %.2f ± %.2f µm in each metre cut", c.Wear, 1000)
	return text
}

// heldBy names what holds a cut of the plan.
func heldBy(p *depth.Plan) func(number int) string {
	return func(number int) string {
		i, ok := slices.BinarySearchFunc(p.Holds, number, func(h depth.Hold, n int) int {
			switch {
			case h.Last < n:
				return -1
			case h.First > n:
				return 1
			}
			return 0
		})
		if !ok {
			return ""
		}
		return p.Holds[i].By.String()
	}
}

// mostStances are told on a sheet; of more, so many are told evenly spread.
const mostStances = 60

// stances tells how the slide assembly stands for each cut on curved work.
func (k *speaker) stances(j *job.Job, l *engine.List) []Sentence {
	all, err := j.Stances(l)
	if err != nil || len(all) == 0 {
		return nil // what the swing does not reach is told by the check
	}
	figure := map[blank.Figure]string{blank.Cylinder: "cylinder", blank.Dome: "dome", blank.Cone: "cone"}[j.Setup.Blank.Nominal.Figure]
	of := "The work is curved"
	if figure != "" {
		of = "The work is a " + figure
	}
	out := []Sentence{words(of + ": for every cut swing the slide assembly so that the cutter stands square to it, and set slide and cutter as told here. What the sequence tells of the slide is where the cut lies, seen from above.")}
	step := 1
	if len(all) > mostStances {
		step = (len(all) + mostStances - 1) / mostStances
	}
	for i := 0; i < len(all); i += step {
		s := &all[i]
		text, exact := k.stand(engine.SlideAxis, int(math.Round(s.Slide/k.setup.Engine.Slide.Length(1))))
		side := "below"
		if s.Advance < 0 {
			side = "above"
		}
		out = append(out, words(typeset(fmt.Sprintf("Cut %d: swing %.2f°, slide to %s (%s), tip %s %s the axis.", l.Cuts[i].Number, s.Swing*180/math.Pi, text, exact, k.length(math.Abs(s.Advance)), side))))
	}
	if step > 1 {
		out = append(out, words("The cuts between these stand between their settings; the program lists them all."))
	}
	return out
}
