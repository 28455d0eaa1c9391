package web

import (
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"testing"

	"brightcut/engine"
)

// dial is a list of 360 cuts of 400 segments.
func dial() *engine.List {
	l := &engine.List{}
	for i := range 360 {
		p := engine.Piece{Path: make([]engine.Vertex, 401)}
		for k := range p.Path {
			p.Path[k] = engine.Vertex{X: float64(k) * 0.04, Y: float64(i) * 0.1, Z: -0.045, Across: float64(i)}
		}
		l.Cuts = append(l.Cuts, engine.Cut{Number: i + 1, Pieces: []engine.Piece{p}})
	}
	return l
}

// BenchmarkPackCuts lays 360 cuts of 400 segments out for the GPU.
func BenchmarkPackCuts(b *testing.B) {
	l := dial()
	b.ReportAllocs()
	for b.Loop() {
		raw, err := packCuts(l)
		if err != nil || len(raw) != 64+360*16+360*402*16 {
			b.Fatal(len(raw), err)
		}
		b.SetBytes(int64(len(raw)))
	}
}

// BenchmarkChangeToCuts is what a page waits for: a value changed, the job's new
// state told, the new cuts sent, over HTTP on this machine. The dial has 360
// wavy rays of about 400 segments.
func BenchmarkChangeToCuts(b *testing.B) {
	bench := newBench(b)
	text := bench.file("sunburst.yaml") + "bar: fine-sine\ntouchpiece: 0.3\n"
	if err := os.WriteFile(filepath.Join(bench.dir, "dial.yaml"), []byte(text), 0o644); err != nil {
		b.Fatal(err)
	}
	v := bench.job("dial")
	b.ReportMetric(float64(v.Cuts.Vertices)/float64(v.Cuts.Count), "vertices/cut")
	n := 0
	for b.Loop() {
		n++
		bench.want(http.StatusOK, "POST", "/api/jobs/dial/set", m{"field": "depth", "value": fmt.Sprint(40+n%10, ".", n, " um"), "if_revision": v.Revision}, &v)
		if len(v.Faults) > 0 {
			b.Fatal(v.Faults)
		}
		bench.want(http.StatusOK, "GET", "/api/jobs/dial/cuts.bin?digest="+v.Digest, nil, nil)
	}
}
