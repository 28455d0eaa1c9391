package web

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"brightcut/costing"
	"brightcut/inspect"
)

// exampleRunID is the finished run that the example workshop has as a file.
const exampleRunID = "7d1f0c52-2c1e-4a7b-9a55-0d5e3c1f2a01"

func (b *served) bring() {
	b.t.Helper()
	res, text := b.do("POST", "/api/runs/import", strings.NewReader(b.file("runs/bowed-dial.run")), "Content-Type", "application/octet-stream")
	if res.StatusCode != 201 {
		b.t.Fatalf("%d: %s", res.StatusCode, text)
	}
}

func TestRecord(t *testing.T) {
	b := newBench(t)
	b.bring()
	text := string(b.want(200, "GET", "/api/runs/"+exampleRunID+"/record.txt?zone=UTC", nil, nil))
	for _, want := range []string{"Sunburst on bowed stock", "cuts 1 to 133 counted at bench", "72 widths measured", "What another like it takes", "crowns"} {
		if !strings.Contains(strings.Join(strings.Fields(text), " "), want) {
			t.Errorf("%q is not in the record:\n%.2000s", want, text)
		}
	}
	if page := b.want(200, "GET", "/api/runs/"+exampleRunID+"/record.html?zone=UTC", nil, nil); !bytes.Contains(page, []byte("data:image/png")) {
		t.Error("the page has no picture")
	}
	b.problem(404, "not-found", "GET", "/api/runs/none/record.txt", nil)
	b.problem(400, "request", "GET", "/api/runs/"+exampleRunID+"/record.txt?zone=Nowhere", nil)
	b.problem(400, "request", "GET", "/api/runs/"+exampleRunID+"/record.pdf?paper=a9", nil)
	if os.Getenv("BRIGHTCUT_SLOW") != "" {
		if pdf := b.want(200, "GET", "/api/runs/"+exampleRunID+"/record.pdf", nil, nil); !bytes.HasPrefix(pdf, []byte("%PDF-")) {
			t.Errorf("%.20q", pdf)
		}
	}
}

// What a job takes goes by the runs of its engine as soon as there is one.
func TestQuote(t *testing.T) {
	b := newBench(t)
	var q costing.Report
	b.want(200, "GET", "/api/jobs/sunburst/quote", nil, &q)
	if q.Basis != "engine" || q.Strokes != 360 || q.Total == nil || q.Currency != "crowns" {
		t.Errorf("%+v", q)
	}
	b.bring()
	b.want(200, "GET", "/api/jobs/bowed-dial/quote", nil, &q)
	if q.Basis != "runs" || q.Runs != 1 || q.Stroke.Value < 7 || q.Stroke.Value > 9 {
		t.Errorf("%+v", q)
	}
	if err := os.WriteFile(filepath.Join(b.dir, "prices", "prices.yaml"), []byte("currency: 3\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if p := b.problem(422, "faults", "GET", "/api/jobs/sunburst/quote", nil); len(p.Faults) == 0 || p.Faults[0].File != "prices/prices.yaml" {
		t.Errorf("%+v", p)
	}
}

func TestCalibrations(t *testing.T) {
	b := newBench(t)
	var l keptList
	b.want(200, "GET", "/api/calibrations", nil, &l)
	if len(l.Kept) != 1 || !l.Kept[0].Counts || l.Kept[0].Cutter != "bright-130" || len(l.Kept[0].Values) != 4 || l.Kept[0].Values[0].Unit != "deg" || len(l.Faults) != 0 {
		t.Fatalf("%+v", l)
	}
	before, digest := b.file("calibrations/bright-130-dial-foot.yaml"), b.job("bowed-dial").Digest
	hear := b.listen("screen-2")
	b.want(200, "POST", "/api/calibrations/bright-130-dial-foot/1", m{"withdrawn": true}, &l)
	b.hear(hear, "part", "kind", "calibrations", "by", "page-1")
	if l.Kept[0].Counts || l.Kept[0].Withdrawn == "" || b.job("bowed-dial").Digest == digest {
		t.Errorf("withdrawn: %+v", l.Kept[0])
	}
	b.want(200, "POST", "/api/calibrations/bright-130-dial-foot/1", m{"withdrawn": false}, &l)
	if !l.Kept[0].Counts || b.file("calibrations/bright-130-dial-foot.yaml") != before || b.job("bowed-dial").Digest != digest {
		t.Errorf("taken back: %+v", l.Kept[0])
	}
	b.problem(422, "request", "POST", "/api/calibrations/bright-130-dial-foot/9", m{"withdrawn": true})
	b.problem(404, "not-found", "POST", "/api/calibrations/bright-130-dial-foot/x", m{"withdrawn": true})
	b.problem(404, "not-found", "POST", "/api/calibrations/..%2Fx/1", m{"withdrawn": true})
}

// Widths of a run, what they say, and what is kept of it: the plan of the next job
// goes by it until it is withdrawn.
func TestInspection(t *testing.T) {
	b := newBench(t)
	b.bring()
	var v inspectionView
	b.want(200, "GET", "/api/runs/"+exampleRunID+"/inspection", nil, &v)
	if v.Measured != 72 || v.Report == nil || len(v.Report.Residuals) != 72 || len(v.Report.Causes) != 1 {
		t.Fatalf("%+v", v)
	}
	// The piece was cut by a guide 2 µm too far out; a wider angle explains the same.
	c, rival := v.Report.Causes[0], 0
	if c.Kind != inspect.Extension {
		for i, r := range c.Rivals {
			if r.Kind == inspect.Extension {
				rival = i + 1
			}
		}
		if rival == 0 {
			t.Fatalf("%s, and the extension is not among %+v", c.Kind, c.Rivals)
		}
	}
	for _, name := range []string{"chart.svg", "map.svg"} {
		if svg := b.want(200, "GET", "/api/runs/"+exampleRunID+"/inspection/"+name, nil, nil); !bytes.Contains(svg, []byte("<svg")) {
			t.Errorf("%s: %.60s", name, svg)
		}
	}
	planned := func() (d depthView) {
		b.want(200, "GET", "/api/jobs/bowed-dial/depth", nil, &d)
		return d
	}
	before := planned()
	var l keptList
	b.want(200, "POST", "/api/runs/"+exampleRunID+"/causes/1/keep", m{"rival": rival}, &l)
	last := l.Kept[len(l.Kept)-1]
	if len(l.Kept) != 2 || !last.Counts || last.From != "runs/"+exampleRunID {
		t.Fatalf("%+v", l)
	}
	// 2 µm deeper by 2·tan 65.05° is 8.6 µm wider, as the widths were measured.
	after := planned()
	if wider := after.Cuts[100].Width.Mean - before.Cuts[100].Width.Mean; wider < 7.4 || wider > 9.8 {
		t.Errorf("the next plan is %v µm wider", wider)
	}
	b.want(200, "POST", "/api/calibrations/"+last.File+"/2", m{"withdrawn": true}, &l)
	if again := planned(); again.Cuts[100].Width != before.Cuts[100].Width {
		t.Errorf("withdrawn, the plan has %+v, not %+v", again.Cuts[100].Width, before.Cuts[100].Width)
	}

	csv := "cut, place mm, width um\n10, 14, 201\n12, 14, 202\n12, 14, 202\n"
	send := func(status int, text, kind string) (in inspectionView) {
		t.Helper()
		res, body := b.do("POST", "/api/runs/"+exampleRunID+"/inspection", strings.NewReader(text), "Content-Type", kind)
		if res.StatusCode != status {
			t.Fatalf("%d, not %d: %.400s", res.StatusCode, status, body)
		}
		json.Unmarshal(body, &in)
		return in
	}
	if in := send(200, csv, "text/csv"); in.Measured != 75 {
		t.Errorf("%d measured", in.Measured)
	}
	if in := send(200, csv, "text/csv"); in.Measured != 75 {
		t.Errorf("sent twice, %d measured", in.Measured)
	}
	send(422, "cut, place mm, width um\n10, 14, wide\n", "text/csv")
	send(415, csv, "application/json")
	send(422, "cut, place mm, width um\n4000, 14, 200\n", "text/csv")
	b.problem(404, "not-found", "POST", "/api/runs/"+exampleRunID+"/causes/7/keep", m{})
	b.problem(404, "not-found", "GET", "/api/runs/none/inspection", nil)
}
