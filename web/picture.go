package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"brightcut/fault"
	"brightcut/light"
	"brightcut/surface"
)

// easel draws one picture of each size class at a time, and of a client's
// pictures only the newest.
type easel struct {
	mu     sync.Mutex
	newest map[string]*turn // by client and size class
	once   sync.Once
	seats  [2]chan struct{}
}

type turn struct{ give chan struct{} } // closed when a newer picture is asked for

// largePicture is where the second size class begins, in pixels of the longer
// side.
const largePicture = 1000

// come waits for a seat. The returned context ends when a newer picture is asked
// for by the same client; leave gives the seat up.
func (e *easel) come(ctx context.Context, client string, pixels int) (_ context.Context, leave func(), err error) {
	e.once.Do(func() {
		e.newest = map[string]*turn{}
		for i := range e.seats {
			e.seats[i] = make(chan struct{}, 1)
		}
	})
	class := 0
	if pixels > largePicture {
		class = 1
	}
	mine := &turn{make(chan struct{})}
	key := fmt.Sprint(class, client)
	if client != "" {
		e.mu.Lock()
		if before := e.newest[key]; before != nil {
			close(before.give)
		}
		e.newest[key] = mine
		e.mu.Unlock()
	}
	forget := func() {
		if client == "" {
			return
		}
		e.mu.Lock()
		if e.newest[key] == mine {
			delete(e.newest, key)
		}
		e.mu.Unlock()
	}
	select {
	case e.seats[class] <- struct{}{}:
	case <-mine.give:
		return nil, nil, superseded()
	case <-ctx.Done():
		forget()
		return nil, nil, ctx.Err()
	}
	during, cancel := context.WithCancelCause(ctx)
	done := make(chan struct{})
	go func() {
		select {
		case <-mine.give:
			cancel(superseded())
		case <-done:
		}
	}()
	return during, func() {
		close(done)
		cancel(nil)
		forget()
		<-e.seats[class]
	}, nil
}

func superseded() *problem {
	return newProblem(http.StatusConflict, "superseded", "A newer picture was asked for", "this one was given up")
}

// Bounds of a picture that a page may ask for.
const (
	leastPixels = 16
	mostPixels  = 8000
	mostSamples = 8
	mostDPI     = 2400
)

// query reads numbers of a request, and remembers the first that is none.
type query struct {
	url.Values
	err error
}

func (q *query) number(name string, otherwise, least, most float64) float64 {
	text := q.Get(name)
	if text == "" {
		return otherwise
	}
	v, err := strconv.ParseFloat(text, 64)
	if (err != nil || !(v >= least && v <= most)) && q.err == nil {
		q.err = badRequest("%s=%s: a number from %v to %v is due", name, text, least, most)
	}
	return v
}

func (q *query) whole(name string, otherwise, least, most int) int {
	text := q.Get(name)
	if text == "" {
		return otherwise
	}
	v, err := strconv.Atoi(text)
	if (err != nil || v < least || v > most) && q.err == nil {
		q.err = badRequest("%s=%s: a whole number from %d to %d is due", name, text, least, most)
	}
	return v
}

// farthest is how far from the work's centre a request may look, mm.
const farthest = 10_000

func (s *Server) picture(w http.ResponseWriter, r *http.Request) error {
	m, err := s.cuttable(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	return s.sendPicture(w, r, r.PathValue("id"), m)
}

// asked is what a picture is to show.
type asked struct {
	view  light.View
	scene light.Scene
	upto  int
}

func readAsked(q *query, m *made) (a asked, err error) {
	pixels := q.whole("pixels", 600, leastPixels, mostPixels)
	if dpi := q.number("dpi", 0, 10, mostDPI); dpi > 0 {
		whole := light.Whole(&m.job.Setup.Blank, 1000)
		side := whole.Pixel() * 1000
		pixels = int(math.Ceil(side / 25.4 * dpi))
		if pixels > mostPixels {
			return a, badRequest("at %v dots to the inch the picture has %d pixels, more than %d", dpi, pixels, mostPixels)
		}
	}
	a.view = light.Whole(&m.job.Setup.Blank, max(pixels, leastPixels))
	a.view.Samples = q.whole("samples", 4, 1, mostSamples)
	if across := q.number("across", 0, 1e-3, farthest); across > 0 {
		a.view.Width, a.view.W, a.view.H = across, pixels, pixels
	}
	if centre := q.Get("centre"); centre != "" {
		x, y, _ := strings.Cut(centre, ",")
		px, errX := strconv.ParseFloat(x, 64)
		py, errY := strconv.ParseFloat(y, 64)
		if errX != nil || errY != nil || !(math.Abs(px) <= farthest && math.Abs(py) <= farthest) {
			return a, badRequest("centre=%s: a place on the work is two numbers, x,y in mm", centre)
		}
		a.view.Centre = r2.Vec{X: px, Y: py}
	}
	a.upto = q.whole("upto", len(m.list.Cuts), 0, len(m.list.Cuts))
	a.scene, err = readScene(q, m)
	if err != nil {
		return a, err
	}
	return a, q.err
}

// readScene is the job's own look with what a request changes of it.
func readScene(q *query, m *made) (light.Scene, error) {
	s, _ := m.job.Scene() // of silver, where the look of the metal is not known
	s, err := light.Words{Metal: q.Get("metal"), Room: q.Get("room"), Land: q.Get("land"), Enamel: q.Get("enamel"), Lamp: q.Get("lamp")}.Onto(s)
	const deg = math.Pi / 180
	s.Lamp.Azimuth = q.number("from", degrees(s.Lamp.Azimuth), -360, 720) * deg
	s.Lamp.Elevation = q.number("height", degrees(s.Lamp.Elevation), 0, 90) * deg
	s.Lamp.Radius = q.number("wide", 0, 0, 90) / 2 * deg
	s.Eye.Distance = q.number("eye", light.DefaultDistance, light.NearestEye, light.FarthestEye)
	s.Eye.Tilt = q.number("tilt", 0, 0, degrees(light.MostTilt)) * deg
	s.Eye.Toward = q.number("toward", 0, -360, 720) * deg
	s.Exposure = q.number("exposure", 0, -light.MostExposure, light.MostExposure)
	if err == nil && q.err == nil {
		err = s.Check()
	}
	var list fault.List
	if errors.As(err, &list) {
		f := list[0]
		if f.Field == "elevation" {
			f.Field = "height"
		}
		if f.Field == "radius" {
			f.Field = "wide"
		}
		return s, badRequest("%s: %s; %s", f.Field, f.Problem, f.Mend)
	}
	return s, err
}

// sendPicture draws a picture, or sends one drawn before.
func (s *Server) sendPicture(w http.ResponseWriter, r *http.Request, id string, m *made) error {
	q := &query{Values: r.URL.Query()}
	a, err := readAsked(q, m)
	if err != nil || lasting(w, r, m.job.Digest) {
		return err
	}
	if m, err = s.deep(r.Context(), m); err != nil {
		return err
	}
	key := fmt.Sprintf("%s %+v %s %d", m.job.Digest, a.view, sceneKey(a.scene), a.upto)
	png, ok := s.pictures.peek(key)
	if !ok {
		client := clientOf(r)
		ctx, leave, err := s.easel.come(r.Context(), client, max(a.view.W, a.view.H))
		if err != nil {
			return err
		}
		png, err = s.pictures.get(ctx, s.ctx, key, func(ctx context.Context) ([]byte, error) {
			return m.draw(ctx, a, s.hearing(id, client, "picture"))
		})
		newer := context.Cause(ctx)
		leave()
		if p, ok := newer.(*problem); ok && err != nil {
			return p
		}
		if err != nil {
			return err
		}
	}
	w.Header().Set("Content-Type", "image/png")
	w.Header().Set("Content-Length", strconv.Itoa(len(png)))
	w.Write(png)
	return nil
}

func (m *made) draw(ctx context.Context, a asked, told func(done, total int)) ([]byte, error) {
	carver, err := m.carver()
	if a.upto < len(m.list.Cuts) {
		carver, err = surface.NewCarver(m.list.Cuts[:a.upto], m.job.Setup.Cutter)
	}
	if err != nil {
		return nil, err
	}
	img, err := light.Render(ctx, a.view, carver, &m.job.Setup.Blank, a.scene, told)
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := light.WritePNG(&b, img, a.view.Pixel(), a.scene.String()); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// hearing tells one client how far a long work is, ten times a second.
func (s *Server) hearing(id, client, what string) func(done, total int) {
	var mu sync.Mutex
	last := time.Now()
	return func(done, total int) {
		mu.Lock()
		defer mu.Unlock()
		if client == "" || time.Since(last) < 100*time.Millisecond {
			return
		}
		last = time.Now()
		s.hub.tell(event{name: "progress", to: client, data: progress{id, what, done, total}})
	}
}
