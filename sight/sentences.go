package sight

import (
	"fmt"
	"math"

	"brightcut/light"
)

// Sentences says the figures in words, for the scene that they are of.
func (f *Figures) Sentences(s light.Scene) []string {
	if f.Pattern == 0 && len(f.Rose.Heights) == 0 {
		return []string{"Nothing is cut, so there is nothing to see."}
	}
	var t []string
	say := func(format string, args ...any) { t = append(t, fmt.Sprintf(format, args...)) }
	say("Seen as %s.", f.Scene)
	if f.Contrast != nil {
		darker := "brighter"
		if *f.Contrast < 0 {
			darker = "darker"
		}
		say("The cuts are %.2f times as bright as white paper, the ground %.2f: contrast %.2f, the cuts %s.", f.Pattern, f.Ground, math.Abs(*f.Contrast), darker)
	} else {
		say("The cuts are %.2f times as bright as white paper; no ground is left between them.", f.Pattern)
	}
	say("Evenness over the field %.2f in this light, %.2f while the lamp alone goes once round (1 is even). Sparkle %.2f.", f.Evenness, f.RoundEven, f.Sparkle)
	say("The cuts are brightest with the lamp at %.0f°, %.0f° high: %.1f times paper; %.0f %% of them flash then.",
		f.Rose.Best.Azimuth, f.Rose.Best.Height, f.brightest(), 100*f.FlashShare)
	switch {
	case f.Trapped:
		say("By reflection alone they would flash %.0f° off the vertical, but enamel throws that light back; a wider cutter would let it out.", f.Reflection)
	case f.Reflection >= grazing:
		say("They do not flash: by reflection alone the lamp would have to stand %.0f° off the vertical, and the two flanks of a cut together look back at the eye.", f.Reflection)
	case f.FlashAt == nil:
		say("From a lamp above the work they do not flash.")
	default:
		say("They flash with the lamp %.0f° off the vertical; reflection alone says %.0f°.", *f.FlashAt, f.Reflection)
	}
	tell := func(with string, v Visible) {
		if v.Width == 0 {
			say("%s no fault in a single cut shows.", with)
			return
		}
		by := "as a change of light"
		if v.ByVernier {
			by = "as a kink in the row"
		}
		say("%s a cut shows when it is %s µm wider or narrower than its neighbours under half of all lamps, %s under the worst, at %.0f°, %.0f° high, which is %s µm of depth or %s %% of the width; out of place by %s µm it shows there %s.",
			with, short(v.Usual), short(v.Width), v.Lamp.Azimuth, v.Lamp.Height, short(v.Depth), short(100*v.Share), short(v.Place), by)
	}
	tell("To the unaided eye at 250 mm", f.Reading)
	tell("With a loupe of ten", f.Loupe)
	return t
}

// brightest is the brightness of the cuts with the lamp at its best.
func (f *Figures) brightest() float64 {
	top := 0.0
	for _, row := range f.Rose.Brightness {
		for _, v := range row {
			top = max(top, v)
		}
	}
	return top
}

// short is a number to two digits, or whole from 10 on.
func short(v float64) string {
	if v >= 10 {
		return fmt.Sprintf("%.0f", v)
	}
	return fmt.Sprintf("%.2g", v)
}
