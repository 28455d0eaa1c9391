// Command metals writes the colours of the metals for the page, so that the page
// and the server's pictures show the same silver.
package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"

	"brightcut/light"
)

// nodes are the cosines of the angle of incidence, evenly spaced from 0 to 1, at
// which a colour is given. Between them the page interpolates.
const nodes = 9

func main() {
	colours := map[string][]float64{}
	for _, m := range light.Metals() {
		var c []float64
		for i := range nodes {
			l := m.Colour(max(float64(i)/(nodes-1), 1e-3), light.Spectrum{}, light.Spectrum{})
			for _, v := range []float64{l.R, l.G, l.B} {
				c = append(c, math.Round(v*1e4)/1e4)
			}
		}
		colours[m.Name] = c
	}
	out, err := json.Marshal(colours)
	if err == nil {
		_, err = os.Stdout.Write(append(out, '\n'))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, "metals:", err)
		os.Exit(1)
	}
}
