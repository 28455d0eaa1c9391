package blank

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/spatial/r2"
)

// Advice is where one more reading would help most.
type Advice struct {
	Place  r2.Vec
	Before float64 // root mean square uncertainty of the form over the field now, mm
	After  float64 // with one more reading at Place
	Text   string
}

// MostHelpful returns the place in the field where one more reading would lower
// the mean square uncertainty of the form over the field most. Places on a grid
// over the field are tried, some hundreds; it depends on where the readings are,
// not on what they show.
func (r *Residual) MostHelpful(field *Field) (Advice, error) {
	const across = 24
	box := field.Bounds()
	w, h := box.Max.X-box.Min.X, box.Max.Y-box.Min.Y
	side := max(w, h) / across
	if !(side > 0) || math.IsInf(side, 0) {
		return Advice{}, errors.New("there is no field to read in")
	}
	var places []r2.Vec
	for y := box.Min.Y + side/2; y < box.Max.Y; y += side {
		for x := box.Min.X + side/2; x < box.Max.X; x += side {
			if p := (r2.Vec{X: x, Y: y}); field.Distance(p) < 0 {
				places = append(places, p)
			}
		}
	}
	if len(places) == 0 {
		return Advice{}, fmt.Errorf("the field is narrower than %s mm everywhere: no place to read was found", short(side))
	}
	// A reading at c lowers the variance at p by C(p, c)²/(C(c, c) + η).
	m := len(places)
	cross, solved, g, plane := r.covariance(places)
	var c, t mat.Dense
	c.Mul(cross.T(), solved)
	t.Mul(g.T(), plane)
	inverse := math.Sqrt(5) / r.Length
	for i, p := range places {
		for j, q := range places {
			c.Set(i, j, matern(inverse*r2.Norm(r2.Sub(p, q)))-c.At(i, j)+t.At(i, j))
		}
	}
	eta := r.Noise * r.Noise / (r.Sigma * r.Sigma)
	var before float64
	best, most := 0, -1.0
	for j := range m {
		before += max(0, c.At(j, j))
		var gain float64
		for i := range m {
			gain += c.At(i, j) * c.At(i, j)
		}
		if gain /= max(0, c.At(j, j)) + eta; gain > most+1e-12 {
			best, most = j, gain
		}
	}
	a := Advice{
		Place:  places[best],
		Before: math.Sqrt(r.spread * before / float64(m)),
		After:  math.Sqrt(r.spread * max(0, before-most) / float64(m)),
	}
	a.Text = fmt.Sprintf("One more reading helps most at x %.1f, y %.1f mm: it lowers the uncertainty of the form over the field from %.2g µm by %.1f %%.",
		a.Place.X, a.Place.Y, 1000*a.Before, 100*(1-a.After/a.Before))
	if a.After > 0.98*a.Before {
		a.Text += " There are readings enough."
	}
	return a, nil
}
