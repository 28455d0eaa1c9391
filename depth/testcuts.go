package depth

import (
	"fmt"
	"io"
	"math"
	"strings"

	"brightcut/fault"
	"brightcut/internal/table"
)

// TestCut is one groove cut to find out what cutter, guide and hand really do.
type TestCut struct {
	Name        string
	Extension   float64 // as set, mm
	Width       float64 // as measured across the stroke, mm
	Hand        string  // class of hand: "light", "usual", "firm"; "" is "usual"
	Force       float64 // N; 0 is unknown, and then Hand counts
	Uncertainty float64 // standard uncertainty of Width, mm; 0 is that of all, see CalibrationOptions
	Origin      fault.Origin
}

// UsualHand is the class of a cut that names none.
const UsualHand = "usual"

// maxTestCuts bounds a file of test cuts: each costs a minute at the engine.
const maxTestCuts = 2000

// ReadTestCuts reads a file of test cuts, as package blank reads readings. Its
// header names the columns and their units: extension and width ("extension um",
// "width mm"), and may name hand (a class), force ("force N"), uncertainty (of
// the width) and name. Lengths have no unit of their own accord: microns and
// millimetres are too easily taken for one another.
//
// The error is a fault.List with every fault of the file.
func ReadTestCuts(r io.Reader, name string) ([]TestCut, error) {
	const (
		extension = iota
		width
		hand
		force
		uncertainty
		label
	)
	t, err := table.Read(r, name, table.Layout{
		extension:   {Name: "extension", Kind: table.Length},
		width:       {Name: "width", Kind: table.Length},
		hand:        {Name: "hand", Kind: table.Word, Optional: true},
		force:       {Name: "force", Kind: table.Force, Unit: "N", Optional: true},
		uncertainty: {Name: "uncertainty", Kind: table.Length, Optional: true},
		label:       {Name: "name", Also: []string{"cut"}, Kind: table.Word, Optional: true},
	})
	if err != nil {
		return nil, err
	}
	var faults table.Faults
	if t.Rows() > maxTestCuts {
		return nil, fault.List{{Origin: fault.Origin{File: name}, Problem: fmt.Sprintf("it holds %d test cuts", t.Rows()), Mend: fmt.Sprintf("give %d at most", maxTestCuts)}}
	}
	optional := func(v float64) float64 {
		if math.IsNaN(v) {
			return 0
		}
		return v
	}
	cuts := make([]TestCut, t.Rows())
	for i := range cuts {
		c := TestCut{
			Name:        t.Words[label][i],
			Extension:   t.Values[extension][i],
			Width:       t.Values[width][i],
			Hand:        strings.ToLower(t.Words[hand][i]),
			Force:       optional(t.Values[force][i]),
			Uncertainty: optional(t.Values[uncertainty][i]),
			Origin:      t.Origin(i),
		}
		if c.Name == "" {
			c.Name = fmt.Sprintf("test cut %d", i+1)
		}
		for _, f := range c.check() {
			f.Origin = c.Origin
			faults.Add(f)
		}
		cuts[i] = c
	}
	if faults.Any() {
		return nil, faults.List()
	}
	return cuts, nil
}

// check reports what no test cut can be.
func (c TestCut) check() (list fault.List) {
	add := func(field, problem, mend string) {
		list = append(list, fault.Fault{Field: field, Problem: problem, Mend: mend})
	}
	if !(math.Abs(c.Extension) <= 5) {
		add("extension", fmt.Sprintf("%.4g mm is no extension of a cutter", c.Extension), "look at its unit; it is given in mm or µm, from −5 to 5 mm")
	}
	if !(c.Width > 0 && c.Width <= 20) {
		add("width", fmt.Sprintf("%.4g mm is no width of a groove", c.Width), "look at its unit; leave out a cut that left no groove")
	}
	if !(c.Force >= 0 && c.Force <= 1000) {
		add("force", fmt.Sprintf("%.4g N is no force of a hand", c.Force), "give it from 0 to 1000 N, or name a hand")
	}
	if !(c.Uncertainty >= 0 && c.Uncertainty <= 1) {
		add("uncertainty", fmt.Sprintf("%.4g mm is no uncertainty of a width", c.Uncertainty), "give the microscope's standard uncertainty")
	}
	return list
}

// Hand is what the workshop knows of a class of hand.
type Hand struct {
	Name    string
	Newtons float64 // 0 is unknown
	Share   float64 // force as a multiple of the usual hand's; 0 is unknown
}

// Known is a quantity known beforehand, with its standard uncertainty: an angle
// by the maker, a tip flat under the microscope, a zero by touching off.
type Known struct {
	Value, Uncertainty float64
}
