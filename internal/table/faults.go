package table

import (
	"fmt"

	"brightcut/fault"
)

// MaxShown is how many faults of a file are told one by one; of a file that is
// wrong on every line the first ones tell all.
const MaxShown = 20

// Faults gathers faults and counts those beyond MaxShown.
type Faults struct {
	list fault.List
	more int
}

// Add keeps the fault, or counts it.
func (f *Faults) Add(one fault.Fault) {
	if len(f.list) < MaxShown {
		f.list = append(f.list, one)
		return
	}
	f.more++
}

// Any says whether a fault was added.
func (f *Faults) Any() bool { return len(f.list) > 0 }

// List returns the faults, with a last one that counts those not shown.
func (f *Faults) List() fault.List {
	if f.more == 0 {
		return f.list
	}
	return append(f.list[:len(f.list):len(f.list)], fault.Fault{
		Origin:  fault.Origin{File: f.list[0].Origin.File},
		Problem: fmt.Sprintf("and %d more", f.more),
		Mend:    "mend those above first; the others are often the same",
	})
}
