package web

import (
	"errors"
	"math"
	"net/http"
	"strconv"
	"time"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
)

// keptView is one thing that was learned and kept.
type keptView struct {
	File      string        `json:"file"`
	Number    int           `json:"number"`
	Date      string        `json:"date"`
	From      string        `json:"from,omitempty"`
	Cutter    string        `json:"cutter,omitempty"`
	Guide     string        `json:"guide,omitempty"`
	Engine    string        `json:"engine,omitempty"`
	Counts    bool          `json:"counts"`
	Withdrawn string        `json:"withdrawn,omitempty"`
	Values    []keptValue   `json:"values"`
	Periodic  []keptPeriods `json:"periodic,omitempty"`
}

type keptValue struct {
	Name        string  `json:"name"`
	Value       float64 `json:"value"`
	Uncertainty float64 `json:"uncertainty"`
	Unit        string  `json:"unit"`
}

type keptPeriods struct {
	Name  string  `json:"name"` // "slide", "index"
	Size  float64 `json:"size"`
	Unit  string  `json:"unit"`
	Turns float64 `json:"turns"`
	From  float64 `json:"from"`
}

type keptList struct {
	Kept   []keptView `json:"calibrations"`
	Faults []told     `json:"faults"`
}

// listCalibrations tells what test cuts and finished pieces told.
func (s *Server) listCalibrations(w http.ResponseWriter, _ *http.Request) error {
	all, err := job.Calibrations(s.fsys)
	var faults fault.List
	if err != nil && !errors.As(err, &faults) {
		return err
	}
	out := keptList{Kept: make([]keptView, 0, len(all)), Faults: tell(faults, nil)}
	for i := range all {
		out.Kept = append(out.Kept, keptOf(&all[i]))
	}
	return answer(w, http.StatusOK, out)
}

func keptOf(k *job.KeptCalibration) keptView {
	v := keptView{File: k.File, Number: k.Number, Date: k.Date, From: k.From, Cutter: k.Cutter, Guide: k.Guide, Engine: k.Engine, Counts: k.Counts, Withdrawn: k.Withdrawn, Values: []keptValue{}}
	for _, one := range []struct {
		name  string
		known *depth.Known
		scale float64
		unit  string
	}{{"angle", k.Angle, 180 / math.Pi, "deg"}, {"flat", k.Flat, 1000, "um"}, {"zero", k.Zero, 1000, "um"}, {"compliance", k.Compliance, 1000, "um/N"}, {"wear", k.Wear, 1000, "um/m"}} {
		if one.known != nil {
			v.Values = append(v.Values, keptValue{one.name, tidy(one.known.Value * one.scale), tidy(one.known.Uncertainty * one.scale), one.unit})
		}
	}
	for _, one := range []struct {
		name  string
		error *engine.Periodic
		scale float64
		unit  string
	}{{"slide", k.Slide, 1000, "um"}, {"index", k.Index, 180 / math.Pi, "deg"}} {
		if p := one.error; p != nil {
			v.Periodic = append(v.Periodic, keptPeriods{one.name, tidy(p.Size * one.scale), one.unit, p.Turns, p.From})
		}
	}
	return v
}

// withdrawCalibration lets one count no more, or again. Jobs that are read with it
// may come to other cuts; every page is told.
func (s *Server) withdrawCalibration(w http.ResponseWriter, r *http.Request) error {
	var body struct {
		Withdrawn bool `json:"withdrawn"`
	}
	if err := ask(w, r, &body); err != nil {
		return err
	}
	file := r.PathValue("file")
	number, err := strconv.Atoi(r.PathValue("number"))
	if err != nil || !job.ValidName(file) {
		return notFound("there is no calibration %s of %s", r.PathValue("number"), file)
	}
	day := ""
	if body.Withdrawn {
		day = time.Now().Format(time.DateOnly)
	}
	s.folderM.Lock()
	err = job.Withdraw(s.folder, file, number, day)
	s.folderM.Unlock()
	if err != nil {
		return cannot(err)
	}
	s.hub.tell(event{name: "part", data: changed{Kind: "calibrations", ID: file, By: clientOf(r)}})
	return s.listCalibrations(w, r)
}
