package light

import (
	"context"
	"runtime"
	"sync"

	"brightcut/surface"
)

// lines holds the carved samples of a picture line by line while they are needed: a
// ring of them, or all. Rows of samples run upwards, rows of pixels downwards. Round
// the picture lie on every side the samples of one pixel, which the filter needs, and
// one more, to place edges.
type lines struct {
	surface.Grid
	held  int // lines in the ring
	z     []float32
	facet []int32
}

// line returns the heights and facets of line j, counted upwards.
func (l *lines) line(j int) ([]float32, []int32) {
	k := j % l.held * l.Nx
	return l.z[k : k+l.Nx], l.facet[k : k+l.Nx]
}

const (
	// A picture is lit in tasks of taskRows rows of pixels, of fewer where their
	// samples would be more than taskSamples.
	taskRows    = 24
	taskSamples = 1 << 20
	// filmSamples is the most that a film keeps of the carving for its next frame.
	filmSamples = 8 << 20
)

// task is the rows of pixels from to to, and the lines that they look at.
type task struct{ from, to, first, end int }

func (p *picture) tasks() int { return (p.H + p.rows - 1) / p.rows }

// task returns the task t, counted upwards.
func (p *picture) task(t int) task {
	to := p.H - t*p.rows
	from := max(to-p.rows, 0)
	first := (p.H - to) * p.Samples
	return task{from, to, first, first + (to-from+2)*p.Samples + 2}
}

// hold makes room for the lines: for all of them, or for as many as the cores work
// on at once, each carving a band and lighting a task.
func (p *picture) hold(all bool) {
	n := p.Samples
	margin := float64(p.Pixel() / float64(n) * (float64(n) + 0.5))
	p.rows = min(taskRows, max(1, taskSamples/(p.across()*n)))
	l := &p.lines
	l.Grid = surface.Grid{
		X0: p.left - margin, Y0: p.top - float64(p.Pixel()*float64(p.H)) - margin, Cell: p.Pixel() / float64(n),
		Nx: p.across(), Ny: (p.H+2)*n + 2,
	}
	l.held = l.Ny
	if !all {
		l.held = min(l.held, 2*n+2+(runtime.GOMAXPROCS(0)+1)*(p.rows*n+l.BandRows()))
	}
	l.z, l.facet = make([]float32, l.held*l.Nx), make([]int32, l.held*l.Nx)
}

// worker returns one that is idle.
func (p *picture) worker() *worker {
	n := len(p.idle)
	if n == 0 {
		return newWorker(p)
	}
	w := p.idle[n-1]
	p.idle = p.idle[:n-1]
	return w
}

// filling is a picture while its bands are carved in no fixed order. Who has carved a
// band lights what has become ready; a band for which the ring has no room waits. The
// lowest band that is not yet carved always has room, and lights the lowest task.
type filling struct {
	*picture
	mu       sync.Mutex
	moved    sync.Cond
	carved   []bool // bands
	ready    int    // lines carved from the lowest on
	next     int    // task to be begun
	done     []bool // tasks
	low      int    // the lowest task not done
	lit      int    // rows of pixels
	progress func(done, total int)
}

// fill carves and lights the picture.
func (p *picture) fill(ctx context.Context, progress func(done, total int)) error {
	f := &filling{picture: p, done: make([]bool, p.tasks()), progress: progress}
	f.moved.L = &f.mu
	f.carved = make([]bool, (p.lines.Ny+p.lines.BandRows()-1)/p.lines.BandRows())
	defer context.AfterFunc(ctx, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		f.moved.Broadcast()
	})()
	return p.carving.Bands(ctx, p.lines.Grid, true, func(b surface.Band) error { return f.take(ctx, b) })
}

// take keeps a band's lines and lights the tasks that have theirs.
func (f *filling) take(ctx context.Context, b surface.Band) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	for b.Row+b.Rows > f.lowest()+f.lines.held {
		if ctx.Err() != nil {
			return ctx.Err()
		}
		if !f.light() {
			f.moved.Wait()
		}
	}
	f.mu.Unlock()
	for j := range b.Rows {
		z, facet := f.lines.line(b.Row + j)
		copy(z, b.Z[j*b.Stride:])
		copy(facet, b.Facet[j*b.Stride:])
	}
	f.mu.Lock()
	rows := f.lines.BandRows()
	f.carved[b.Row/rows] = true
	for k := f.ready / rows; k < len(f.carved) && f.carved[k]; k++ {
		f.ready = min((k+1)*rows, f.lines.Ny)
	}
	f.moved.Broadcast()
	for ctx.Err() == nil && f.light() {
	}
	return ctx.Err()
}

// lowest is the lowest line that is still needed.
func (f *filling) lowest() int {
	if f.low == len(f.done) {
		return f.lines.Ny
	}
	return f.task(f.low).first
}

// light makes the next task if its lines are carved, with f.mu let go meanwhile.
func (f *filling) light() bool {
	if f.next == len(f.done) {
		return false
	}
	t := f.task(f.next)
	if t.end > f.ready {
		return false
	}
	n := f.next
	f.next++
	w := f.worker()
	f.mu.Unlock()
	w.make(t)
	f.mu.Lock()
	f.idle = append(f.idle, w)
	f.done[n] = true
	for f.low < len(f.done) && f.done[f.low] {
		f.low++
	}
	if f.lit += t.to - t.from; f.progress != nil {
		f.progress(f.lit, f.H)
	}
	f.moved.Broadcast()
	return true
}
