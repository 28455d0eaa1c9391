package sheet

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"brightcut/job"
)

const (
	inch = 25.4   // mm, exactly (international yard and pound agreement, 1959)
	thou = 0.0254 // mm
)

// fixed writes v with so many decimals and a proper minus sign, never a minus
// before a zero.
func fixed(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if !strings.HasPrefix(s, "-") {
		return s
	}
	if strings.Trim(s, "-0.") == "" {
		return s[1:]
	}
	return "−" + s[1:]
}

// trimmed is fixed without the zeros that say nothing.
func trimmed(v float64, decimals int) string {
	s := fixed(v, decimals)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return s
}

// whole writes a count with a proper minus sign.
func whole(n int) string { return strings.Replace(strconv.Itoa(n), "-", "−", 1) }

// count writes a count of things: 1 tooth, 16 teeth, −3 holes.
func count(n int, one, many string) string {
	if n == 1 || n == -1 {
		return whole(n) + " " + one
	}
	return whole(n) + " " + many
}

func teeth(n int) string     { return count(n, "tooth", "teeth") }
func holes(n int) string     { return count(n, "hole", "holes") }
func divisions(n int) string { return count(n, "division", "divisions") }

// units writes lengths in the workshop's units.
type units job.Units

func (u units) inch() bool { return job.Units(u) == job.Inch }

// length writes a length that a setting gives: 0.160 mm, 0.0063 in.
func (u units) length(mm float64) string {
	if u.inch() {
		return fixed(mm/inch, 4) + " in"
	}
	return fixed(mm, 3) + " mm"
}

// size writes a given dimension: 30 mm, 0.8 mm, 1.25 in.
func (u units) size(mm float64) string { return u.bare(mm) + " " + u.name() }

func (u units) name() string {
	if u.inch() {
		return "in"
	}
	return "mm"
}

// bare writes a given dimension without its unit.
func (u units) bare(mm float64) string {
	if u.inch() {
		return trimmed(mm/inch, 4)
	}
	return trimmed(mm, 3)
}

// fine writes what one tooth gives, to the digits it deserves: 0.01 mm,
// 0.00112 in.
func (u units) fine(mm float64) string {
	if u.inch() {
		return trimmed(mm/inch, 5) + " in"
	}
	return trimmed(mm, 4) + " mm"
}

// point writes a place on the work: (0, −6) mm.
func (u units) point(x, y float64) string {
	return "(" + u.bare(x) + ", " + u.bare(y) + ") " + u.name()
}

// reading writes a reading of the stroke scale without its unit. A stroke is
// stopped by hand against a scale: a third decimal would be pretence (common
// practice, no source).
func (u units) reading(mm float64) string {
	if u.inch() {
		return fixed(mm/inch, 3)
	}
	return fixed(mm, 2)
}

// micron writes a depth or an error: 45 µm, 52.5 µm; in an inch workshop also
// its thou, 1.77 thou.
func (u units) micron(mm float64) string {
	if u.inch() {
		return trimmed(mm/thou, 2) + " thou"
	}
	return trimmed(mm*1000, 1) + " µm"
}

// micronToo is what stands in brackets behind micron: nothing in a metric
// workshop, microns in an inch one.
func (u units) micronToo(mm float64) string {
	if u.inch() {
		return trimmed(mm*1000, 1) + " µm"
	}
	return ""
}

// far writes the length of many strokes together: 4.03 m, 158.7 in.
func (u units) far(mm float64) string {
	switch {
	case u.inch():
		return fixed(mm/inch, 1) + " in"
	case mm < 1000:
		return fixed(mm, 1) + " mm"
	}
	return fixed(mm/1000, 2) + " m"
}

// degrees writes an angle: 1°, 3.214°, −90°.
func degrees(rad float64) string { return trimmed(rad*180/math.Pi, 3) + "°" }

// wavesOf writes a shift as a share of the wave: half a wave, a quarter of a
// wave, 1/3 of a wave, 2 waves, 0.497 of a wave. It says nothing when there is
// no wave.
func wavesOf(shift, wave float64) string {
	if !(wave > 0) || math.IsInf(wave, 0) {
		return ""
	}
	w := math.Abs(shift) / wave
	n, d := fraction(w)
	switch {
	case d == 0 || n == 0:
		if w < 1 {
			return fixed(w, 3) + " of a wave"
		}
		return fixed(w, 3) + " waves"
	case d == 1 && n == 1:
		return "one wave"
	case d == 1:
		return strconv.Itoa(n) + " waves"
	case d == 2 && n == 1:
		return "half a wave"
	case d == 4 && n == 1:
		return "a quarter of a wave"
	case d == 4 && n == 3:
		return "three quarters of a wave"
	case n < d:
		return fmt.Sprintf("%d/%d of a wave", n, d)
	}
	return fmt.Sprintf("%d %d/%d waves", n/d, n%d, d)
}

// fraction returns v as n/d with d at most 64 when it is that fraction to one
// part in a million of a wave, which no eye and no bar can tell from it; d = 0
// when it is not.
func fraction(v float64) (n, d int) {
	if !(v < 1e6) {
		return 0, 0
	}
	for d := 1; d <= 64; d++ {
		n := math.Round(v * float64(d))
		if math.Abs(v-n/float64(d)) < 1e-6 {
			return int(n), d
		}
	}
	return 0, 0
}

// duration writes a time at the engine: 45 s, 21 min, 1 h 12 min.
func duration(seconds float64) string {
	switch {
	case seconds < 90:
		return fixed(seconds, 0) + " s"
	case seconds < 5970:
		return fixed(seconds/60, 0) + " min"
	}
	if seconds >= 360000 {
		return fixed(seconds/3600, 0) + " h"
	}
	m := int(math.Round(seconds / 60))
	return fmt.Sprintf("%d h %d min", m/60, m%60)
}

// list joins phrases: "a", "a and b", "a, b and c".
func list(phrases []string) string {
	switch len(phrases) {
	case 0:
		return ""
	case 1:
		return phrases[0]
	}
	last := len(phrases) - 1
	return strings.Join(phrases[:last], ", ") + " and " + phrases[last]
}

// cutsFromTo writes a range of cuts: cut 7, cuts 7–9.
func cutsFromTo(first, last int) string {
	if first == last {
		return "cut " + strconv.Itoa(first)
	}
	return fmt.Sprintf("cuts %d–%d", first, last)
}
