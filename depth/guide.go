package depth

// Side says on which side of the cutter, across the stroke, the guide's foot rests.
type Side int

// The sides, seen from above with the stroke running away from the operator.
const (
	Right Side = iota + 1 // towards +x
	Left                  // towards −x
)

// Guide is the polished foot that rests on the work beside the cutter and
// gives the cut a local reference.
type Guide struct {
	Name       string
	Offset     float64 // g, from the cutter's tip to the foot's contact, across the stroke, mm
	Side       Side
	FootRadius float64 // of a round foot, mm; 0 is a flat foot of width FootWidth
	FootWidth  float64 // of a flat foot, mm
	Extension  float64 // e, how far the cutter stands out beyond the foot, mm
	Compliance float64 // c, give under the hand, mm/N
}
