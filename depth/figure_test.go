package depth

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/blank"

	"gonum.org/v1/gonum/spatial/r2"
)

// The figures are well-formed, the same each time, and say what they show. With
// BRIGHTCUT_FIGURES set they are written into that folder to be looked at.
func TestFigures(t *testing.T) {
	w := dial(sunburst(180, 4, 16, 2*math.Pi/180), Left)
	w.Stock, w.Cell = bowed(w.Blank, 2500), 0.02
	w.Stop = &Stop{Compliance: 0.00015}
	w.Pressure.Force = 12
	w.Blank.KeepClear = []blank.Window{{Name: "name", Shape: blank.Shape{Form: blank.Rectangle, Width: 6, Height: 2, Centre: r2.Vec{X: 17.2, Y: 0}}}}
	p := planned(t, w, Wishes{})
	for _, f := range []struct {
		name string
		draw func(io.Writer) error
		says []string
	}{
		{"width", p.WidthFigure, []string{"width across the stroke, µm", "stop", "least to greatest", "±5 % of 193.0 µm", "the guide alone"}},
		{"map", p.MapFigure, []string{"Off the wished width by", "-2.5 to +2.5 %", "over 10 % too wide", " mm<", "share of the way"}},
		{"ground", func(w io.Writer) error { return p.Prediction.GroundFigure(w, 170) }, []string{"cut 170, held by guide", "where the foot rests", "height above the nominal form, µm", "reading of the stroke, mm"}},
		{"stop", func(w io.Writer) error { return p.Prediction.GroundFigure(w, 180) }, []string{"cut 180, held by stop", "the guide is not used"}},
	} {
		var a, b bytes.Buffer
		if err := errors.Join(f.draw(&a), f.draw(&b)); err != nil {
			t.Fatal(f.name, err)
		}
		if !bytes.Equal(a.Bytes(), b.Bytes()) {
			t.Errorf("%s: drawn twice, it differs", f.name)
		}
		d := xml.NewDecoder(bytes.NewReader(a.Bytes()))
		for {
			if _, err := d.Token(); err == io.EOF {
				break
			} else if err != nil {
				t.Fatalf("%s: %v", f.name, err)
			}
		}
		for _, words := range append(f.says, "<title>") {
			if !strings.Contains(a.String(), words) {
				t.Errorf("%s does not say %q", f.name, words)
			}
		}
		if strings.Contains(a.String(), "NaN") || strings.Contains(a.String(), "Inf") {
			t.Errorf("%s holds a number that is none", f.name)
		}
		if dir := os.Getenv("BRIGHTCUT_FIGURES"); dir != "" {
			if err := os.WriteFile(filepath.Join(dir, f.name+".svg"), a.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
	}
	if err := p.Prediction.GroundFigure(io.Discard, 181); err == nil || !strings.Contains(err.Error(), "from 1 to 180") {
		t.Errorf("a cut that is not there: %v", err)
	}
}
