package web

import (
	"encoding/binary"
	"math"
	"net/http"
	"strconv"

	"brightcut/engine"
)

// mostVertices bounds cuts.bin, which then has 64 MB.
const mostVertices = 4 << 20

const (
	binaryHead   = 64
	binaryFormat = 1
	breakHeight  = 1000 // mm: no tip stands so high
)

// counts are the pieces of a list and their vertices, with one break behind
// each piece.
func counts(l *engine.List) (pieces, vertices int) {
	for i := range l.Cuts {
		for j := range l.Cuts[i].Pieces {
			if n := len(l.Cuts[i].Pieces[j].Path); n > 0 {
				pieces++
				vertices += n + 1
			}
		}
	}
	return pieces, vertices
}

// packCuts lays the cuts out for the GPU; docs/api.md has the layout.
func packCuts(l *engine.List) ([]byte, error) {
	pieces, vertices := counts(l)
	if vertices > mostVertices {
		return nil, newProblem(http.StatusUnprocessableEntity, "request", "The piece is too large for the page",
			"its cuts have %d vertices, more than %d; look at the picture instead", vertices, mostVertices)
	}
	le := binary.LittleEndian
	out := make([]byte, binaryHead+16*pieces+16*vertices)
	copy(out, "BCUT")
	for i, n := range []int{binaryFormat, len(l.Cuts), pieces, vertices} {
		le.PutUint32(out[4+4*i:], uint32(n))
	}
	lo, hi := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	table, at := out[binaryHead:binaryHead+16*pieces], out[binaryHead+16*pieces:]
	first := uint32(0)
	for i := range l.Cuts {
		c := &l.Cuts[i]
		for j := range c.Pieces {
			p := &c.Pieces[j]
			n := len(p.Path)
			if n == 0 {
				continue
			}
			flags := uint32(0)
			if p.Closed {
				flags = 1
			}
			le.PutUint32(table, uint32(c.Number))
			le.PutUint32(table[4:], first)
			le.PutUint32(table[8:], uint32(n))
			le.PutUint32(table[12:], flags)
			table = table[16:]
			for k := range p.Path {
				v := &p.Path[k]
				putVertex(at, v, v.Z)
				at = at[16:]
				lo[0], lo[1] = min(lo[0], v.X), min(lo[1], v.Y)
				hi[0], hi[1] = max(hi[0], v.X), max(hi[1], v.Y)
			}
			putVertex(at, &p.Path[n-1], breakHeight)
			at = at[16:]
			first += uint32(n) + 1
		}
	}
	if pieces > 0 {
		for i, v := range []float64{lo[0], lo[1], hi[0], hi[1]} {
			le.PutUint32(out[20+4*i:], math.Float32bits(float32(v)))
		}
	}
	return out, nil
}

func putVertex(at []byte, v *engine.Vertex, z float64) {
	le := binary.LittleEndian
	le.PutUint32(at, math.Float32bits(float32(v.X)))
	le.PutUint32(at[4:], math.Float32bits(float32(v.Y)))
	le.PutUint32(at[8:], math.Float32bits(float32(z)))
	le.PutUint32(at[12:], math.Float32bits(float32(v.Across)))
}

func (s *Server) cutsBinary(w http.ResponseWriter, r *http.Request) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if lasting(w, r, m.job.Digest) {
		return nil
	}
	b, err := m.binary()
	if err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Header().Set("Content-Length", strconv.Itoa(len(b)))
	w.Write(b)
	return nil
}

type cutList struct {
	ReadingUnit string    `json:"reading_unit"`
	Cuts        []cutView `json:"cuts"`
}

type cutView struct {
	Number   int         `json:"number"`
	Action   string      `json:"action"`
	Field    string      `json:"field,omitempty"`
	Line     int         `json:"line,omitempty"`
	Settings settings    `json:"settings"`
	SlideMM  float64     `json:"slide_mm"`
	TurnDeg  float64     `json:"turned_deg"`
	PhaseMM  *float64    `json:"phase_mm,omitempty"`
	PhaseDeg *float64    `json:"phase_deg,omitempty"`
	DepthMM  float64     `json:"depth_mm"`
	Start    float64     `json:"start"`
	Stop     float64     `json:"stop"`
	Pieces   []pieceView `json:"pieces"`
}

type settings struct {
	Slide int    `json:"slide"`
	Index int    `json:"index"`
	Shift int    `json:"shift"`
	Chuck int    `json:"chuck"`
	Bar   string `json:"bar,omitempty"`
}

type pieceView struct {
	Start  float64 `json:"start"`
	Stop   float64 `json:"stop"`
	Closed bool    `json:"closed,omitempty"`
}

// tidy drops the digits below a nanometre or a millionth of a degree.
func tidy(v float64) float64 { return math.Round(v*1e6)/1e6 + 0 }

func (s *Server) cutsJSON(w http.ResponseWriter, r *http.Request) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	if lasting(w, r, m.job.Digest) {
		return nil
	}
	rose := m.job.Setup.Engine.Kind == engine.Rose
	out := cutList{ReadingUnit: "mm", Cuts: make([]cutView, 0, len(m.list.Cuts))}
	reading := tidy
	if rose {
		out.ReadingUnit = "deg"
		reading = func(v float64) float64 { return tidy(degrees(v)) }
	}
	lines := m.job.SequenceLines()
	for i := range m.list.Cuts {
		c := &m.list.Cuts[i]
		v := cutView{Number: c.Number, Action: m.sheet.Action(c), Field: lines[c.Origin], Line: c.Origin.Line, Settings: settings(c.Settings),
			SlideMM: tidy(c.Position), TurnDeg: tidy(degrees(c.Turned)), DepthMM: tidy(c.Depth), Pieces: make([]pieceView, 0, len(c.Pieces))}
		phase := tidy(c.Phase)
		if rose {
			phase = tidy(degrees(c.Phase))
			v.PhaseDeg = &phase
		} else {
			v.PhaseMM = &phase
		}
		for _, p := range c.Pieces {
			v.Pieces = append(v.Pieces, pieceView{reading(p.Start), reading(p.Stop), p.Closed})
		}
		if n := len(v.Pieces); n > 0 {
			v.Start, v.Stop = v.Pieces[0].Start, v.Pieces[n-1].Stop
		}
		out.Cuts = append(out.Cuts, v)
	}
	return answer(w, http.StatusOK, out)
}
