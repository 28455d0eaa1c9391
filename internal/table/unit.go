package table

import (
	"math"
	"slices"
	"strings"
)

// Kind says what the numbers of a column are.
type Kind int

// The kinds of column.
const (
	Length Kind = iota + 1 // mm
	Angle                  // rad
	Force                  // N
	Word                   // text, kept as it stands
)

func (k Kind) String() string {
	return [...]string{"", "a length", "an angle", "a force", "a word"}[k]
}

// unit is one way to write the unit of a column.
type unit struct {
	names []string
	kind  Kind
	size  float64 // in mm, rad or N
}

// The inch is 25.4 mm, the pound-force 0.45359237 kg × 9.80665 m/s², exactly
// (international yard and pound agreement of 1959; standard gravity of the 3rd
// CGPM, 1901).
var units = []unit{
	{[]string{"mm"}, Length, 1},
	{[]string{"um", "µm", "μm", "micron", "microns"}, Length, 1e-3},
	{[]string{"cm"}, Length, 10},
	{[]string{"in", "inch", "inches"}, Length, 25.4},
	{[]string{"thou"}, Length, 0.0254},
	{[]string{"deg", "°", "degrees"}, Angle, math.Pi / 180},
	{[]string{"rad"}, Angle, 1},
	{[]string{"turn", "turns"}, Angle, 2 * math.Pi},
	{[]string{"n", "newton", "newtons"}, Force, 1},
	{[]string{"gf"}, Force, 9.80665e-3},
	{[]string{"kgf"}, Force, 9.80665},
	{[]string{"lbf"}, Force, 4.4482216152605},
}

// Unit returns the size of the named unit in mm, rad or N, and whether the name
// is one of that kind.
func Unit(name string, kind Kind) (size float64, ok bool) {
	u := find(name)
	if u == nil || u.kind != kind {
		return 0, false
	}
	return u.size, true
}

func find(name string) *unit {
	name = strings.ToLower(strings.TrimSpace(name))
	for i := range units {
		if slices.Contains(units[i].names, name) {
			return &units[i]
		}
	}
	return nil
}

// unitNames lists the units of a kind for a message.
func unitNames(kind Kind) string {
	var names []string
	for _, u := range units {
		if u.kind == kind {
			names = append(names, u.names[0])
		}
	}
	return strings.Join(names, ", ")
}
