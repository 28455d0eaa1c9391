package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"mime"
	"net/http"
	"strings"

	"brightcut/blank"
	"brightcut/fault"
	"brightcut/job"
)

// postReadings takes a file of indicator readings, pasted or dropped, and makes
// it the job's.
func (s *Server) postReadings(w http.ResponseWriter, r *http.Request) error {
	if kind, _, err := mime.ParseMediaType(r.Header.Get("Content-Type")); err != nil || kind != "text/csv" {
		return newProblem(http.StatusUnsupportedMediaType, "request", "The request cannot be meant", "send Content-Type: text/csv")
	}
	text, err := io.ReadAll(http.MaxBytesReader(w, r.Body, mostReadings))
	if err != nil {
		return err
	}
	id := r.PathValue("id")
	st, err := s.state(r.Context(), id)
	if err != nil {
		return err
	}
	opts := blank.ReadingOptions{}
	if st.made != nil {
		opts.Blank = &st.made.job.Setup.Blank
	}
	read, err := blank.ReadReadings(bytes.NewReader(text), "readings", opts)
	var faults fault.List
	if errors.As(err, &faults) {
		p := asProblem(faults)
		p.Title = "The readings cannot be used"
		return p
	}
	if err != nil {
		return err
	}
	if r.URL.Query().Get("check") == "1" {
		return answer(w, http.StatusOK, map[string]any{
			"places": len(read.Points), "repeats": read.Repeats, "scatter_um": micron(read.Scatter), "units": read.Units})
	}
	by := clientOf(r)
	err = s.change(id, r.URL.Query().Get("if_revision"), by, func(st *state) error {
		name, err := s.takeReadings(st)
		if err != nil {
			return cannot(err)
		}
		return s.write(readings+"/"+name+".csv", text, by)
	})
	if err != nil {
		return err
	}
	return s.answerJob(w, r, http.StatusOK, id)
}

// takeReadings makes the job name a new file of readings, and returns the name.
// Older ones stay where they are, so that undoing the job's text brings them back.
func (s *Server) takeReadings(st *state) (string, error) {
	name := st.id
	for n := 2; s.exists(readings + "/" + name + ".csv"); n++ {
		name = fmt.Sprintf("%s-%d", st.id, n)
	}
	if !job.ValidName(name) {
		return "", badRequest("%q makes no name of a file", name)
	}
	stock, listed := false, false
	for _, v := range st.doc.Values(mostValues) {
		stock = stock || strings.HasPrefix(v.Path, "stock.")
		listed = listed || strings.HasPrefix(v.Path, "stock.readings[")
	}
	switch {
	case !stock:
		return name, st.doc.Put("stock", "{form: flat, readings: "+quote(name)+"}")
	case listed:
		return name, st.doc.Put("stock.readings", quote(name))
	}
	return name, st.doc.Set("stock.readings", name)
}

// quote writes a name as YAML reads it in every place.
func quote(name string) string { return "'" + strings.ReplaceAll(name, "'", "''") + "'" }

type flatView struct {
	PeakToValleyUM float64 `json:"peak_to_valley_um"`
	RMSUM          float64 `json:"rms_um"`
}

type truingView struct {
	Places int           `json:"places"`
	Used   int           `json:"used"`
	Before flatView      `json:"before"`
	Best   flatView      `json:"best"`
	After  flatView      `json:"after"`
	Turns  []turnView    `json:"turns"`
	Screws []screwView   `json:"screws"`
	Expect []readingView `json:"expect"`
	More   *moreView     `json:"one_more_reading,omitempty"`
	Remark []string      `json:"remarks"`
}

type turnView struct {
	Screw    string  `json:"screw"`
	Parts    int     `json:"parts"`
	Division int     `json:"division"`
	RiseUM   float64 `json:"rise_um"`
	Text     string  `json:"text"`
}

type screwView struct {
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
}

type readingView struct {
	X     float64 `json:"x"`
	Y     float64 `json:"y"`
	NowUM float64 `json:"now_um"`
	ZUM   float64 `json:"z_um"`
}

type moreView struct {
	X    float64 `json:"x"`
	Y    float64 `json:"y"`
	Text string  `json:"text"`
}

// truing tells the turns of the truing chuck's screws for the job's readings.
func (s *Server) truing(w http.ResponseWriter, r *http.Request) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	j := m.job
	if j.Stock == nil || j.Stock.Readings == nil {
		return notFound("the job has no readings of its stock; paste them, or write stock: {form: flat, readings: NAME}")
	}
	if j.Setup.Engine.Truing == nil {
		return notFound("the engine tells of no truing chuck; write truing: {division: 16, screws: [{angle: 90 deg, radius: 32, pitch: 0.5}, …]} into its file")
	}
	if lasting(w, r, j.Digest) {
		return nil
	}
	chuck := *j.Setup.Engine.Truing
	opts := blank.TruingOptions{Chuck: chuck, Nominal: j.Setup.Blank.Nominal, Field: j.Setup.Blank.Field(), Fit: blank.BySquares, Reading: j.Stock.Scatter}
	t, err := j.Stock.Readings.True(opts)
	if err != nil {
		return err
	}
	flat := func(f blank.Flatness) flatView { return flatView{micron(f.Total), micron(f.RMS)} }
	v := truingView{Places: len(j.Stock.Readings.Points), Used: t.Used, Before: flat(t.Before), Best: flat(t.Best), After: flat(t.After),
		Turns: []turnView{}, Screws: []screwView{}, Expect: []readingView{}, Remark: append([]string{}, t.Remarks...)}
	for _, n := range t.Turns {
		v.Turns = append(v.Turns, turnView{n.Screw, n.Parts, chuck.Division, micron(n.Rise), n.Text})
	}
	for i, c := range chuck.Screws {
		v.Screws = append(v.Screws, screwView{nameOr(c.Name, i), tidy(c.Radius * math.Cos(c.Angle)), tidy(c.Radius * math.Sin(c.Angle))})
	}
	for i, a := range chuck.Axes { // the screw stands on the left of its hinge
		v.Screws = append(v.Screws, screwView{nameOr(a.Name, i), tidy(-a.Arm * math.Sin(a.Along)), tidy(a.Arm * math.Cos(a.Along))})
	}
	for i, e := range t.Expect {
		if i == mostPlaces {
			break
		}
		v.Expect = append(v.Expect, readingView{tidy(e.Place.X), tidy(e.Place.Y), micron(e.Z - t.Change.At(e.Place)), micron(e.Z)})
	}
	form, err := j.Form()
	if err != nil {
		v.Remark = append(v.Remark, err.Error())
	} else if form != nil {
		if a, err := form.MostHelpful(opts.Field); err == nil {
			v.More = &moreView{tidy(a.Place.X), tidy(a.Place.Y), a.Text}
		}
	}
	return answer(w, http.StatusOK, v)
}

func nameOr(name string, i int) string {
	if name != "" {
		return name
	}
	return string(rune('1' + i))
}
