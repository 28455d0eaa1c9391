package job

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"

	"brightcut/fault"
)

// dimension is what a written number counts.
type dimension int

const (
	bare      dimension = iota // no unit: the file's units, or degrees
	lengths                    // mm
	turns                      // turns; 360 deg is one
	teeth                      // of a ratchet or crossing wheel
	holes                      // of an index circle
	divisions                  // of the chuck
	waves                      // of the bar; bumps of the rosette
	give                       // mm/N
	force                      // N
	share                      // of one
)

// unit is one unit that may be written behind a number: one of it is num/den
// mm, turns, counts, waves, mm/N, N or shares of one.
type unit struct {
	dim      dimension
	words    []string // the first is the one the program writes
	num, den int64
	divides  bool // 14 tpi is 1/14 in; 360 round is 1/360 turn
}

// unitTable holds every unit that text may carry. The inch is 25.4 mm exactly
// (international yard and pound agreement of 1959).
var unitTable = []unit{
	{lengths, []string{"mm"}, 1, 1, false},
	{lengths, []string{"um", "µm", "μm"}, 1, 1000, false}, // micro sign, Greek mu
	{lengths, []string{"cm"}, 10, 1, false},
	{lengths, []string{"in", "inch", "inches", `"`}, 127, 5, false},
	{lengths, []string{"thou"}, 127, 5000, false},
	{lengths, []string{"tpi"}, 127, 5, true},
	{turns, []string{"deg", "degree", "degrees", "°"}, 1, 360, false},
	{turns, []string{"turn", "turns"}, 1, 1, false},
	{turns, []string{"round"}, 1, 1, true},
	{teeth, []string{"teeth", "tooth"}, 1, 1, false},
	{holes, []string{"holes", "hole"}, 1, 1, false},
	{divisions, []string{"divisions", "division"}, 1, 1, false},
	{waves, []string{"waves", "wave", "bumps", "bump"}, 1, 1, false},
	{give, []string{"um/N", "µm/N", "μm/N"}, 1, 1000, false},
	{force, []string{"N"}, 1, 1, false},
	{share, []string{"%"}, 1, 100, false},
}

// numberWords are the bench's words for a number.
var numberWords = []struct {
	words    string
	num, den int64
}{
	{"half an", 1, 2}, {"half a", 1, 2},
	{"a third of a", 1, 3}, {"a quarter of a", 1, 4},
	{"an", 1, 1}, {"a", 1, 1},
}

// The written forms of a number; a sign may stand before each. The same text
// serves the schema, so it keeps to what every regular expression knows.
const (
	mixedForm   = `[0-9]+ [0-9]+/[0-9]+`
	shareForm   = `[0-9]+/[0-9]+`
	decimalForm = `([0-9]+(\.[0-9]+)?|\.[0-9]+)([eE][+-]?[0-9]{1,2})?`
	anyNumber   = `(` + mixedForm + `|` + shareForm + `|` + decimalForm + `)`
)

var numberForm = regexp.MustCompile(`^([+-]?)` + anyNumber)

// longest is the most characters of a number with its unit: it bounds the work
// of exact arithmetic.
const longest = 64

// quantity is a number as it was written, exact. A bare one is as it stands.
type quantity struct {
	value *big.Rat
	dim   dimension
	word  string // the unit as written
}

// snag is what is wrong with a written value and what would mend it.
type snag struct{ problem, mend string }

// parseQuantity reads a number with or without a unit. It knows nothing of what
// the number is for.
func parseQuantity(text string) (quantity, *snag) {
	t := strings.Join(strings.Fields(text), " ")
	if t == "" {
		return quantity{}, &snag{"there is no value", "write a number"}
	}
	if len(t) > longest {
		return quantity{}, &snag{fmt.Sprintf("a number of %d characters is too long", len(t)), fmt.Sprintf("write it in at most %d characters", longest)}
	}
	t = strings.Replace(t, "−", "-", 1) // the minus sign of typesetting
	value, rest, s := parseNumber(t)
	if s != nil {
		return quantity{}, s
	}
	word := strings.TrimSpace(rest)
	if word == "" {
		return quantity{value, bare, ""}, nil
	}
	for _, u := range unitTable {
		for _, w := range u.words {
			if w != word {
				continue
			}
			if u.divides {
				if value.Sign() <= 0 {
					return quantity{}, &snag{fmt.Sprintf("%s divides by a number that is not above 0", quoted(text)), "write a number above 0 before " + word}
				}
				value.Inv(value)
			}
			return quantity{value.Mul(value, big.NewRat(u.num, u.den)), u.dim, word}, nil
		}
	}
	if strings.HasPrefix(word, ",") {
		return quantity{}, &snag{fmt.Sprintf("%s has a decimal comma", quoted(text)), "write a decimal point"}
	}
	return quantity{}, &snag{fmt.Sprintf("%s is not a unit", quoted(word)), nearUnit(word)}
}

// parseNumber takes a number off the front of t.
func parseNumber(t string) (value *big.Rat, rest string, s *snag) {
	m := numberForm.FindString(t)
	if m == "" {
		for _, w := range numberWords {
			if rest, ok := strings.CutPrefix(t, w.words+" "); ok {
				return big.NewRat(w.num, w.den), rest, nil
			}
		}
		mend := "write a number such as 0.156, 1/4 or 1 1/2"
		if strings.ContainsAny(t, ",") {
			mend += ", with a decimal point"
		}
		return nil, "", &snag{quoted(t) + " is not a number", mend}
	}
	rest = t[len(m):]
	if strings.IndexAny(rest, "0123456789._/") == 0 {
		return nil, "", &snag{quoted(t) + " is not a number", "write a number such as 0.156, 1/4 or 1 1/2"}
	}
	body := strings.TrimLeft(m, "+-")
	whole, share, mixed := strings.Cut(body, " ")
	if !mixed {
		whole, share = "", body
	}
	if leadingZero(body) {
		return nil, "", &snag{quoted(m) + " begins with a needless 0, which some programs read as octal", "leave the leading 0 out"}
	}
	value, ok := new(big.Rat).SetString(share)
	if !ok { // only a share over 0 gets here
		return nil, "", &snag{quoted(m) + " divides by 0", "write a share such as 1/4"}
	}
	if mixed {
		w, _ := new(big.Rat).SetString(whole)
		value.Add(value, w)
	}
	if m[0] == '-' {
		value.Neg(value)
	}
	return value, rest, nil
}

// leadingZero tells 010 from 0, 0.1 and 0/4.
func leadingZero(t string) bool {
	return len(t) > 1 && t[0] == '0' && t[1] >= '0' && t[1] <= '9'
}

// nearUnit says what unit was meant.
func nearUnit(word string) string {
	var all, first []string
	for _, u := range unitTable {
		all = append(all, u.words...)
		first = append(first, u.words[0])
	}
	if mend := suggest(word, all, ""); strings.HasPrefix(mend, "did") {
		return mend
	}
	return "units are " + listed(first)
}

// piRat is π to 40 digits, so that an angle rounds once, from its exact value.
var piRat, _ = new(big.Rat).SetString("3.141592653589793238462643383279502884197")

var twoPi = new(big.Rat).Mul(piRat, big.NewRat(2, 1))

// scale is what one bare unit of a field is in the program's own.
type scale struct {
	of   *big.Rat
	name string // behind a number in a message
}

var (
	plainScale  = scale{big.NewRat(1, 1), ""}
	mmScale     = scale{big.NewRat(1, 1), "mm"}
	inchScale   = scale{big.NewRat(127, 5), "in"}
	degreeScale = scale{new(big.Rat).Quo(twoPi, big.NewRat(360, 1)), "deg"}
	giveScale   = scale{big.NewRat(1, 1000), "um/N"}
)

// float returns the nearest float64 of a number of s.
func (s scale) float(v *big.Rat) float64 {
	f, _ := new(big.Rat).Mul(v, s.of).Float64()
	return f
}

// write returns the shortest decimal that float turns into v again. What is not a
// number comes out as a word that no reader takes for one.
func (s scale) write(v float64) string {
	exact := new(big.Rat)
	if exact.SetFloat64(v) == nil {
		return decimal(v)
	}
	exact.Quo(exact, s.of)
	near, _ := exact.Float64()
	if s.of.IsInt() { // then the shortest text of a float64 is that of its value
		if t := decimal(near); s.reads(t, v) {
			return t
		}
	}
	for places := 0; places <= 6; places++ { // what a person would have written
		if t := exact.FloatString(places); s.reads(t, v) {
			return t
		}
	}
	if t := decimal(near); s.reads(t, v) {
		return t
	}
	long := new(big.Float).SetPrec(128).SetRat(exact)
	for digits := 15; digits <= 20; digits++ { // 17 tell two float64 apart
		if t := long.Text('g', digits); s.reads(t, v) {
			return t
		}
	}
	return decimal(near) // beyond what a job file holds; the reader refuses it
}

func (s scale) reads(t string, v float64) bool {
	r, ok := new(big.Rat).SetString(t)
	return ok && s.float(r) == v
}

// ParseLength reads a length such as "0.193 mm" or "8 thou", in mm; a bare number
// is in the given units. A text that cannot be used is a fault.List of one.
func ParseLength(text string, units Units) (float64, error) {
	return parseOf(text, lengths, units.scale(), "a length such as 0.2 mm")
}

// ParseAngle reads an angle such as "130 deg", in rad; a bare number is degrees.
func ParseAngle(text string) (float64, error) {
	return parseOf(text, turns, degreeScale, "an angle such as 30 deg")
}

// ParseCompliance reads a give such as "0.3 um/N", in mm/N; a bare number is µm/N.
func ParseCompliance(text string) (float64, error) {
	return parseOf(text, give, giveScale, "a give such as 0.3 um/N")
}

func parseOf(text string, dim dimension, bareScale scale, noun string) (float64, error) {
	q, s := parseQuantity(text)
	switch {
	case s != nil:
		return 0, fault.List{{Problem: s.problem, Mend: s.mend}}
	case q.dim == bare:
		return bareScale.float(q.value), nil
	case q.dim != dim:
		return 0, fault.List{{Problem: quoted(text) + " is of another kind", Mend: "write " + noun}}
	case dim == turns:
		return scale{of: twoPi}.float(q.value), nil
	}
	v, _ := q.value.Float64()
	return v, nil
}
