package web

import (
	"context"
	"errors"
	"strings"
	"sync"

	"brightcut/depth"
	"brightcut/engine"
	"brightcut/fault"
	"brightcut/job"
	"brightcut/sheet"
	"brightcut/surface"
)

// state is a job as its file says at this moment.
type state struct {
	id       string
	text     []byte
	revision string
	doc      *job.Document // nil when the text is no mapping
	made     *made         // nil when there are faults
	faults   fault.List
}

// made is what one digest makes. It is never changed.
type made struct {
	job    *job.Job
	list   *engine.List
	plan   *depth.Plan // of planned cuts, which are as deep as it predicts; else nil
	sheet  *sheet.Sheet
	steps  []sheet.Step
	binary func() ([]byte, error)
	carver func() (*surface.Carver, error)
}

// size is about what it holds in memory.
func (m *made) size() int {
	n := 1 << 16
	for i := range m.list.Cuts {
		n += 400
		for j := range m.list.Cuts[i].Pieces {
			n += 80 + 56*len(m.list.Cuts[i].Pieces[j].Path) // 40 in the list, 16 for the GPU
		}
	}
	return n
}

// open reads a job's file. The error is for what is not there or cannot be read;
// faults are part of the state.
func (s *Server) open(id string) (*state, error) {
	file, err := jobFile(id)
	if err != nil {
		return nil, err
	}
	text, err := s.read(file)
	if err != nil {
		return nil, err
	}
	st := &state{id: id, text: text, revision: revisionOf(text)}
	doc, err := job.Open(s.fsys, file)
	if err != nil {
		return st, st.take(err)
	}
	st.doc, st.text = doc, doc.Text()
	st.revision = revisionOf(st.text)
	return st, nil
}

// state reads a job's file and makes what it says.
func (s *Server) state(ctx context.Context, id string) (*state, error) {
	st, err := s.open(id)
	if err != nil || st.doc == nil {
		return st, err
	}
	j, err := st.doc.Job()
	if err != nil {
		return st, st.take(err)
	}
	m, err := s.made.get(ctx, s.ctx, id+" "+j.Digest, func(ctx context.Context) (*made, error) { return makeCuts(ctx, j) })
	if err != nil {
		return st, st.take(err)
	}
	st.made = m
	s.good.put(id, m)
	return st, nil
}

// take makes faults part of the state; any other error it returns.
func (st *state) take(err error) error {
	if errors.As(err, &st.faults) {
		return nil
	}
	return err
}

func makeCuts(ctx context.Context, j *job.Job) (*made, error) {
	list, err := j.Cuts(ctx)
	if err != nil {
		return nil, err
	}
	m := gather(j, list, nil)
	m.steps = m.sheet.Steps()
	return m, nil
}

func gather(j *job.Job, list *engine.List, plan *depth.Plan) *made {
	m := &made{job: j, list: list, plan: plan, sheet: sheet.NewPlanned(j, list, plan)}
	m.binary = sync.OnceValues(func() ([]byte, error) { return packCuts(list) })
	m.carver = sync.OnceValues(func() (*surface.Carver, error) { return surface.NewCarver(list.Cuts, j.Setup.Cutter) })
	return m
}

// planned plans the depth of a job's cuts.
func (s *Server) planned(ctx context.Context, m *made) (*made, error) {
	return s.plans.get(ctx, s.ctx, m.job.Digest, func(ctx context.Context) (*made, error) {
		plan, _, err := m.job.Plan(ctx, m.list)
		if err != nil {
			return nil, err
		}
		return gather(m.job, plan.List(m.list), plan), nil
	})
}

// deep returns the cuts as deep as the plan has them, when the job tells enough
// for one.
func (s *Server) deep(ctx context.Context, m *made) (*made, error) {
	if m.plan != nil || !m.job.Planned() {
		return m, nil
	}
	return s.planned(ctx, m)
}

// cuttable returns what a job makes, or its faults as the error.
func (s *Server) cuttable(ctx context.Context, id string) (*made, error) {
	st, err := s.state(ctx, id)
	if err != nil {
		return nil, err
	}
	if st.made == nil {
		return nil, st.problem()
	}
	return st.made, nil
}

func (st *state) problem() *problem {
	p := asProblem(st.faults)
	p.Faults = st.told()
	return p
}

// told are the faults with the paths in the job that lead to them.
func (st *state) told() []told {
	var names []job.Named
	if st.doc != nil {
		names = st.doc.Names()
	}
	return tell(st.faults, func(f fault.Fault) string {
		if strings.HasPrefix(f.Origin.File, readings+"/") {
			return "stock.readings"
		}
		for _, n := range names {
			if strings.HasSuffix(f.Origin.File, n.Kind+"s/"+n.Name+extension) {
				if f.Field == "" {
					return n.Path
				}
				return n.Path + "." + f.Field
			}
		}
		return f.Field
	})
}
