package job

import (
	"math"
	"math/big"
	"testing"

	"pgregory.net/rapid"

	"brightcut/engine"
)

func TestParseAmount(t *testing.T) {
	for _, c := range []struct {
		text     string
		units    Units
		bare     engine.Unit
		unit     engine.Unit
		num, den int64
		says     string // Text, where it is not as written
	}{
		{"16 teeth", Millimetre, engine.Length, engine.Teeth, 16, 1, ""},
		{"1 tooth", Millimetre, engine.Length, engine.Teeth, 1, 1, ""},
		{"3 holes", Millimetre, engine.Angle, engine.Teeth, 3, 1, ""},
		{"90 divisions", Millimetre, engine.Angle, engine.Teeth, 90, 1, ""},
		{"7", Millimetre, engine.Teeth, engine.Teeth, 7, 1, "7 teeth"},
		{"0.156 mm", Inch, engine.Length, engine.Length, 39, 250, ""},
		{"0.156", Millimetre, engine.Length, engine.Length, 39, 250, "0.156 mm"},
		{"0.156", Inch, engine.Length, engine.Length, 4953, 1250, "0.156 in"}, // 0.156 · 25.4 = 3.9624
		{".5mm", Millimetre, engine.Length, engine.Length, 1, 2, ""},
		{"1 1/2 mm", Millimetre, engine.Length, engine.Length, 3, 2, ""},
		{"-1 1/2 mm", Millimetre, engine.Length, engine.Length, -3, 2, ""},
		{"1/4 in", Millimetre, engine.Length, engine.Length, 127, 20, ""}, // 6.35
		{`1/4"`, Millimetre, engine.Length, engine.Length, 127, 20, ""},
		{"8 thou", Millimetre, engine.Length, engine.Length, 127, 625, ""}, // 0.2032
		{"45 um", Millimetre, engine.Length, engine.Length, 9, 200, ""},
		{"45 µm", Millimetre, engine.Length, engine.Length, 9, 200, ""},
		{"2 cm", Millimetre, engine.Length, engine.Length, 20, 1, ""},
		{"1e-3 mm", Millimetre, engine.Length, engine.Length, 1, 1000, ""},
		// A slide of 14 threads to the inch with a 64-tooth ratchet steps
		// 25.4/14·16/64 = 0.453571… mm in 16 teeth, from a workshop's published
		// notes that round it to 0.45 mm; the pitch is the exact 127/70.
		{"14 tpi", Millimetre, engine.Length, engine.Length, 127, 70, ""},
		{"1/360 turn", Millimetre, engine.Angle, engine.Turns, 1, 360, ""},
		{"360 round", Millimetre, engine.Angle, engine.Turns, 1, 360, ""},
		{"1 deg", Millimetre, engine.Angle, engine.Turns, 1, 360, ""},
		{"1.5", Millimetre, engine.Angle, engine.Turns, 1, 240, "1.5 deg"},
		{"11 1/2 °", Millimetre, engine.Angle, engine.Turns, 23, 720, ""},
		{"1/4", Millimetre, engine.Turns, engine.Turns, 1, 4, "1/4 turns"},
		{"half a turn", Millimetre, engine.Angle, engine.Turns, 1, 2, ""},
		{"half a wave", Millimetre, engine.Length, engine.Waves, 1, 2, ""},
		{"half  a\twave", Millimetre, engine.Length, engine.Waves, 1, 2, "half a wave"},
		{"a quarter of a wave", Millimetre, engine.Length, engine.Waves, 1, 4, ""},
		{"a third of a wave", Millimetre, engine.Length, engine.Waves, 1, 3, ""},
		{"half an inch", Millimetre, engine.Length, engine.Length, 127, 10, ""},
		{"a tooth", Millimetre, engine.Length, engine.Teeth, 1, 1, ""},
		{"−1/2 wave", Millimetre, engine.Length, engine.Waves, -1, 2, ""}, // the typesetter's minus
		{"+2 bumps", Millimetre, engine.Angle, engine.Waves, 2, 1, ""},
		{"0.5", Millimetre, engine.Waves, engine.Waves, 1, 2, "0.5 waves"},
		// More digits than a ratio of two int64 holds: the value alone.
		{"0.1234567890123456789012345678901", Millimetre, engine.Length, engine.Length, 0, 0, "0.1234567890123456789012345678901 mm"},
	} {
		a, err := ParseAmount(c.text, c.units, c.bare)
		if err != nil {
			t.Errorf("%q: %v", c.text, err)
			continue
		}
		says := c.says
		if says == "" {
			says = c.text
		}
		if a.Unit != c.unit || a.Num != c.num || a.Den != c.den || a.Text != says {
			t.Errorf("%q: got %+v, want %d/%d unit %d text %q", c.text, a, c.num, c.den, c.unit, says)
		}
		if c.den != 0 && a.Value != float64(c.num)/float64(c.den) {
			t.Errorf("%q: value %v is not %d/%d", c.text, a.Value, c.num, c.den)
		}
	}
	for text, want := range map[string]string{
		"":             "there is no value\n    mend: write a number",
		"teeth":        "\"teeth\" is not a number\n    mend: write a number such as 0.156, 1/4 or 1 1/2",
		"0,156 mm":     "\"0,156 mm\" has a decimal comma\n    mend: write a decimal point",
		"0.1.2":        "\"0.1.2\" is not a number\n    mend: write a number such as 0.156, 1/4 or 1 1/2",
		"5.":           "\"5.\" is not a number\n    mend: write a number such as 0.156, 1/4 or 1 1/2",
		"nan":          "\"nan\" is not a number\n    mend: write a number such as 0.156, 1/4 or 1 1/2",
		"inf mm":       "\"inf mm\" is not a number\n    mend: write a number such as 0.156, 1/4 or 1 1/2",
		"1/0 mm":       "\"1/0\" divides by 0\n    mend: write a share such as 1/4",
		"007":          "\"007\" begins with a needless 0, which some programs read as octal\n    mend: leave the leading 0 out",
		"3 tooths":     "\"tooths\" is not a unit\n    mend: did you mean tooth?",
		"1e9 mm":       "\"1e9 mm\" is more than any engine moves\n    mend: write less than 1000000",
		"1/2 tooth":    "\"1/2 tooth\" are not whole\n    mend: a detent holds only whole ones: write a whole number",
		"-14 tpi":      "\"-14 tpi\" divides by a number that is not above 0\n    mend: write a number above 0 before tpi",
		"0.3 um/N":     "\"0.3 um/N\" is no motion\n    mend: write a length, an angle or a count",
		"1e9999999 mm": "\"1e9999999 mm\" is not a number\n    mend: write a number such as 0.156, 1/4 or 1 1/2",
		"11111111111111111111111111111111111111111111111111111111111111111": "a number of 65 characters is too long\n    mend: write it in at most 64 characters",
	} {
		if a, err := ParseAmount(text, Millimetre, engine.Length); err == nil || err.Error() != want {
			t.Errorf("%q: got %+v, %q, want %q", text, a, err, want)
		}
	}
}

// The text written for a float64 reads as the same float64, in every unit.
func TestNumbersRoundTrip(t *testing.T) {
	scales := map[string]scale{"mm": mmScale, "inch": inchScale, "deg": degreeScale, "plain": plainScale, "give": giveScale}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		if m := math.Abs(v); m != 0 && m < 1e-40 {
			v = 0
		}
		for name, s := range scales {
			text := s.write(v)
			q, snag := parseQuantity(text)
			if snag != nil || q.dim != bare {
				t.Fatalf("%s: %v was written %q: %v", name, v, text, snag)
			}
			if got := s.float(q.value); got != v {
				t.Fatalf("%s: %v was written %q and read %v", name, v, text, got)
			}
		}
	})
	for text, s := range map[string]scale{"15": degreeScale, "120": degreeScale, "22.5": degreeScale, "0.1": inchScale, "0.3": giveScale} {
		q, _ := parseQuantity(text)
		if got := s.write(s.float(q.value)); got != text {
			t.Errorf("%s came back as %s", text, got)
		}
	}
}

// 40 digits of π are enough to round every angle of a file once.
func TestPi(t *testing.T) {
	if f, _ := piRat.Float64(); f != math.Pi {
		t.Errorf("π is %v", f)
	}
	for deg, want := range map[int64]float64{360: 2 * math.Pi, 180: math.Pi, 90: math.Pi / 2, 45: math.Pi / 4} {
		if got := degreeScale.float(big.NewRat(deg, 1)); got != want {
			t.Errorf("%d deg is %v, want %v", deg, got, want)
		}
	}
}

func TestSuggest(t *testing.T) {
	for _, c := range [][3]string{
		{"titel", "did you mean title?", "a swap"},
		{"seqence", "did you mean sequence?", "a letter left out"},
		{"Cutter", "did you mean cutter?", "a capital"},
		{"brightness", "keys are title, sequence, cutter", "nothing near"},
	} {
		if got := suggest(c[0], []string{"title", "sequence", "cutter"}, "keys are"); got != c[1] {
			t.Errorf("%s (%s): %s", c[0], c[2], got)
		}
	}
	for _, c := range []struct {
		a, b string
		d    int
	}{{"", "", 0}, {"kitten", "sitting", 3}, {"ab", "ba", 1}, {"ca", "abc", 3}, {"größe", "grosse", 3}} {
		if got := distance(c.a, c.b); got != c.d {
			t.Errorf("distance(%q, %q) = %d, want %d", c.a, c.b, got, c.d)
		}
	}
}
