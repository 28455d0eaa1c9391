package sheet

import (
	"math"
	"strings"
	"testing"

	"brightcut/engine"
	"brightcut/job"
)

// What is known of the engine's own errors is told where the engine is made ready,
// and only that.
func TestKnownErrorsAreTold(t *testing.T) {
	told := func(change func(*job.Job)) string {
		j := panel()
		change(j)
		l := &engine.List{Cuts: []engine.Cut{{Number: 1, Settings: engine.Settings{Slide: 4, Index: 3}}}, Circle: 360}
		var all []string
		for _, s := range New(j, l).Setup {
			all = append(all, s.String())
		}
		return strings.Join(all, "\n")
	}
	if text := told(func(*job.Job) {}); strings.Contains(text, "known to be") {
		t.Errorf("an error that nobody knows of is told:\n%s", text)
	}
	text := told(func(j *job.Job) {
		j.Setup.Engine.Slide.Error = &engine.Periodic{Size: 0.004, Turns: 1}
		j.Setup.Engine.Index.Error = &engine.Periodic{Size: 0.01 * math.Pi / 180, Turns: 2.5}
	})
	for _, want := range []string{
		"The screw of the cross slide is known to be up to 4 µm off to either side, again each turn; the cuts are reckoned with it.",
		"The index wheel is known to be up to 0.0100° off to either side, again after 2.5 turns; the cuts are reckoned with it.",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is not told:\n%s", want, text)
		}
	}
	if text := told(func(j *job.Job) {
		j.Units = job.Inch
		j.Setup.Engine.Slide.Error = &engine.Periodic{Size: 0.00508, Turns: 1}
	}); !strings.Contains(text, "up to 0.2 thou off") {
		t.Errorf("not in thou:\n%s", text)
	}
}
