package depth

import (
	"fmt"
	"math"
	"strings"

	"brightcut/fault"
	"gonum.org/v1/gonum/stat/distuv"
)

// why says with what an unknown is confused, and what would part them.
func (c *Calibration) why(j int) (why, add string) {
	if j == Compliance && !c.touched(Compliance) {
		return "no test cut has a hand of known force", "give the newtons of each hand, or of the cuts, by a spring balance on the crank or lever"
	}
	var with []string
	confused := map[int]bool{j: true}
	for k := range c.fit.Untouched {
		v := &c.fit.Untouched[k]
		if math.Abs(v.AtVec(j)) < 1e-6 {
			continue
		}
		for i := range v.Len() {
			if i != j && math.Abs(v.AtVec(i)) > 1e-6 && !confused[i] && (i != Compliance || c.touched(i)) {
				confused[i] = true
				with = append(with, c.model.columns[i])
			}
		}
	}
	why = "the test cuts do not touch it"
	if len(with) > 0 {
		why = "the test cuts do not tell it from " + strings.Join(with, " and ")
	}
	flexes := confused[Compliance]
	for i := Compliance + 1; i < len(c.model.columns); i++ {
		flexes = flexes || confused[i]
	}
	var mends []string
	if confused[Angle] {
		mends = append(mends, "add a test cut at another extension")
	}
	if flexes {
		mends = append(mends, "add a test cut with another hand whose force is known, lighter or firmer")
	}
	if confused[Flat] && confused[Zero] {
		mends = append(mends, "give the tip flat as measured under the microscope, or the zero as found by touching off")
	}
	return why, strings.Join(mends, "; ")
}

// touched says whether any cut or anything known bears on an unknown.
func (c *Calibration) touched(column int) bool {
	for _, cut := range c.cuts {
		if k, _, _ := c.model.flex(cut.Hand, cut.Force); k == column {
			return true
		}
	}
	return false
}

// Missing lists what the test cuts do not determine and what to add.
func (c *Calibration) Missing() (list fault.List) {
	for _, e := range c.Estimates {
		if !e.Known {
			list = append(list, fault.Fault{Field: e.Name, Problem: "it is not determined: " + e.Why, Mend: e.Add})
		}
	}
	return list
}

// outliers names the cuts whose studentised residual would come up by chance
// in fewer than one set of twenty (Bonferroni's bound over the cuts).
func (c *Calibration) outliers() {
	n := float64(len(c.cuts))
	limit, sigma := 0.0, 0.0
	if c.Estimated {
		nu := float64(c.fit.Freedom() - 1)
		if nu < 1 {
			return
		}
		limit = distuv.StudentsT{Mu: 0, Sigma: 1, Nu: nu}.Quantile(1 - 0.025/n)
	} else {
		limit, sigma = distuv.UnitNormal.Quantile(1-0.025/n), 1
	}
	for i, t := range c.fit.Studentised(sigma)[:len(c.cuts)] {
		if math.Abs(t) > limit {
			c.Outliers = append(c.Outliers, Outlier{Index: i, Name: c.cuts[i].Name, Residual: c.Residuals[i], Studentised: t, Limit: limit})
		}
	}
}

// doubt says what cannot be true, or is known worse than it looks.
func (c *Calibration) doubt() {
	say := func(format string, args ...any) { c.Remarks = append(c.Remarks, fmt.Sprintf(format, args...)) }
	for _, j := range []int{Flat, Compliance} {
		if e := c.Estimates[j]; e.Known && e.Value < -2*e.Uncertainty {
			say("The %s comes out below nothing, by more than twice its uncertainty: look at the other quantities that were given.", e.Name)
		}
	}
	if c.Birge > 2 {
		say("The widths scatter %.1f times as much as their stated uncertainty: the uncertainties here are too small, or a cut does not belong.", c.Birge)
	}
	if c.Estimated && c.Freedom < 3 {
		say("The scatter was told from %.1f degrees of freedom; the uncertainties are themselves uncertain by a half or more.", c.Freedom)
	}
}
