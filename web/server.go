package web

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"brightcut/bench"
	"brightcut/examples"
	"brightcut/sight"
	"brightcut/surface"
)

// Server serves one workshop folder. It is an http.Handler.
type Server struct {
	folder   string // absolute
	root     *os.Root
	fsys     fs.FS
	version  string
	patterns *patterns
	handler  http.Handler
	ctx      context.Context // ends with Close
	stop     context.CancelFunc
	watched  chan struct{} // closed when the watcher has ended

	hub     hub
	folderM sync.Mutex       // one change of the folder, or one look at it, at a time
	seen    map[string]stamp // files as they were last told of
	names   sync.Map         // partName by file
	age     atomic.Int64     // changes of the folder that were told

	made     *cache[*made]
	plans    *cache[*made] // planned cuts, by digest
	good     *cache[*made] // the last that was without faults, by job
	pictures *cache[[]byte]
	papers   *cache[[]byte]        // PDF, by digest and paper
	looks    *cache[*inspected]    // inspections, by run and what it came to
	learned  *cache[bench.Learned] // of an engine, by what the runs came to
	figures  *cache[surface.Figures]
	roses    *cache[*sight.Figures] // by digest and scene
	easel    easel

	runs     runLog
	ledgers  *cache[*ledger]
	programs *cache[*program] // by run
	importM  sync.Mutex       // one file of a run is taken in at a time
	devices  devices
	shared   atomic.Pointer[sharing] // nil while nothing is
}

// Options are what a Server may be told.
type Options struct {
	Version  string        // shown on the page
	Patterns fs.FS         // workshop of patterns to begin a job from; nil is the example workshop
	Look     time.Duration // between two looks at the folder; 0 is 300 ms
}

// Bounds of what is kept in memory, in bytes or entries.
const (
	keepMade     = 256 << 20
	keepPlans    = 256 << 20
	keepGood     = 32
	keepPictures = 64 << 20
	keepPapers   = 16 << 20
	keepFigures  = 64
	keepLearned  = 8
	keepLooks    = 8
	keepPrograms = 128 << 20
)

// New opens a workshop's folder. Close ends the server's own work.
func New(folder string, o Options) (*Server, error) {
	path, err := filepath.Abs(folder)
	if err != nil {
		return nil, fmt.Errorf("open the workshop: %w", err)
	}
	root, err := os.OpenRoot(path)
	if err != nil {
		return nil, fmt.Errorf("open the workshop: %w; name a folder that is there", err)
	}
	if o.Patterns == nil {
		o.Patterns = examples.Workshop
	}
	if o.Look == 0 {
		o.Look = 300 * time.Millisecond
	}
	s := &Server{folder: path, root: root, fsys: root.FS(), version: o.Version, watched: make(chan struct{}),
		made:     newCache(keepMade, (*made).size),
		plans:    newCache(keepPlans, func(m *made) int { return 2 * m.size() }),
		good:     newCache(keepGood, func(*made) int { return 1 }),
		pictures: newCache(keepPictures, func(b []byte) int { return len(b) }),
		papers:   newCache(keepPapers, func(b []byte) int { return len(b) }),
		looks:    newCache(keepLooks, func(*inspected) int { return 1 }),
		learned:  newCache(keepLearned, func(bench.Learned) int { return 1 }),
		figures:  newCache(keepFigures, func(surface.Figures) int { return 1 }),
		roses:    newCache(keepFigures, func(*sight.Figures) int { return 1 }),
		runs:     runLog{folder: path},
		ledgers:  newCache(keepLedgers, func(*ledger) int { return 1 }),
		programs: newCache(keepPrograms, (*program).size),
	}
	if s.patterns, err = readPatterns(o.Patterns); err != nil {
		root.Close()
		return nil, err
	}
	s.ctx, s.stop = context.WithCancel(context.Background())
	s.handler = guard("http://", ownHost, s.routes())
	s.devices.read(s.root) // names in the log; what cannot be read is told when the workshop is shared
	s.seen = s.look(nil)
	go s.watch(o.Look)
	return s, nil
}

// Close stops the watcher and all work under way; streams of events end.
func (s *Server) Close() error {
	s.stop()
	<-s.watched
	return errors.Join(s.runs.close(), s.root.Close())
}

// Folder is the folder that is served, as an absolute path.
func (s *Server) Folder() string { return s.folder }

// ServeHTTP answers the page and its API.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

func (s *Server) routes() http.Handler {
	mux := http.NewServeMux()
	for pattern, handle := range map[string]route{
		"GET /{$}":                  page("index.html", "text/html; charset=utf-8"),
		"GET /assets/app.js":        page("app.js", "text/javascript; charset=utf-8"),
		"GET /assets/app.css":       page("app.css", "text/css; charset=utf-8"),
		"GET /sw.js":                worker,
		"GET /manifest.webmanifest": manifest,
		"GET /pair":                 page("index.html", "text/html; charset=utf-8"),
		"GET /api/workshop":         s.workshop,
		"GET /api/events":           s.events,
		"POST /api/jobs":            s.newJob,
		"GET /api/jobs/{id}":        s.getJob,
		"PUT /api/jobs/{id}":        s.putJob,
		"DELETE /api/jobs/{id}":     s.deleteJob,
		"POST /api/jobs/{id}/set":   s.setField,
		"POST /api/jobs/{id}/edit":  s.editJob,

		"GET /api/runs":                   s.listRuns,
		"GET /api/runs/{run}/record.pdf":  s.recordPDF,
		"GET /api/runs/{run}/record.html": s.recordHTML,
		"GET /api/runs/{run}/record.txt":  s.recordText,
		"GET /api/jobs/{id}/quote":        s.getQuote,

		"GET /api/runs/{run}/inspection":           s.getInspection,
		"POST /api/runs/{run}/inspection":          s.postWidths,
		"GET /api/runs/{run}/inspection/chart.svg": s.inspectionChart,
		"GET /api/runs/{run}/inspection/map.svg":   s.inspectionMap,
		"POST /api/runs/{run}/causes/{cause}/keep": s.keepCause,

		"GET /api/calibrations":                  s.listCalibrations,
		"POST /api/calibrations/{file}/{number}": s.withdrawCalibration,

		"POST /api/runs":                  s.startRun,
		"POST /api/runs/import":           s.importRun,
		"GET /api/runs/{run}":             s.getRun,
		"GET /api/runs/{run}/events":      s.getEvents,
		"POST /api/runs/{run}/events":     s.postEvents,
		"GET /api/runs/{run}/where":       s.whereInRun,
		"GET /api/runs/{run}/cuts.json":   s.runCuts,
		"GET /api/runs/{run}/cuts.bin":    s.runBinary,
		"GET /api/runs/{run}/picture.png": s.runPicture,
		"GET /api/runs/{run}/run.run":     s.exportRun,

		"GET /api/share":                 s.getShare,
		"POST /api/share/code":           s.newCode,
		"GET /api/share/code.svg":        s.codeSVG,
		"PUT /api/share/devices/{id}":    s.renameDevice,
		"DELETE /api/share/devices/{id}": s.revokeDevice,
		"POST /api/pair":                 s.pair,

		"GET /api/trash":               s.listTrash,
		"POST /api/trash/{id}/restore": s.restore,

		"GET /api/parts/{kind}/{name}":      s.getPart,
		"PUT /api/parts/{kind}/{name}":      s.putPart,
		"POST /api/parts/{kind}":            s.newPart,
		"POST /api/parts/{kind}/{name}/set": s.setPart,
		"DELETE /api/parts/{kind}/{name}":   s.deletePart,

		"GET /api/patterns/{id}/picture.png": s.patternPicture,

		"GET /api/jobs/{id}/cuts.bin":       s.cutsBinary,
		"GET /api/jobs/{id}/cuts.json":      s.cutsJSON,
		"GET /api/jobs/{id}/picture.png":    s.picture,
		"GET /api/jobs/{id}/section":        s.section,
		"GET /api/jobs/{id}/figures":        s.getFigures,
		"GET /api/jobs/{id}/rose":           s.getRose,
		"GET /api/jobs/{id}/look":           s.getLook,
		"GET /api/jobs/{id}/sheet.html":     s.sheetHTML,
		"GET /api/jobs/{id}/sheet.txt":      s.sheetText,
		"GET /api/jobs/{id}/sheet.pdf":      s.sheetPDF,
		"GET /api/jobs/{id}/bar":            s.getBar,
		"POST /api/jobs/{id}/bar/points":    s.barPoints,
		"GET /api/jobs/{id}/depth":          s.getDepth,
		"GET /api/jobs/{id}/depth/places":   s.depthPlaces,
		"GET /api/jobs/{id}/depth/map.png":  s.depthMap,
		"GET /api/jobs/{id}/depth/cuts.bin": s.depthCuts,
		"GET /api/jobs/{id}/truing":         s.truing,
		"POST /api/jobs/{id}/readings":      s.postReadings,
		"POST /api/jobs/{id}/bar/try":       s.barTry,
		"POST /api/jobs/{id}/bar/trace":     s.traceBar,
		"POST /api/jobs/{id}/bar/inverse":   s.barInverse,
		"GET /api/jobs/{id}/export/{file}":  s.exportJob,
	} {
		mux.Handle(pattern, limited(handle))
	}
	return route(func(w http.ResponseWriter, r *http.Request) error {
		handler, pattern := mux.Handler(r)
		if pattern != "" {
			mux.ServeHTTP(w, r)
			return nil
		}
		var why refusal
		if handler.ServeHTTP(&why, r); why.status == http.StatusMethodNotAllowed {
			w.Header().Set("Allow", why.Header().Get("Allow"))
			return newProblem(why.status, "request", "The request cannot be meant", "%s takes %s", r.URL.Path, why.Header().Get("Allow"))
		}
		return notFound("%s is no route of the page's server; docs/api.md lists them", r.URL.Path)
	})
}

// refusal keeps what the mux would answer where it has no route.
type refusal struct {
	header http.Header
	status int
}

func (f *refusal) Header() http.Header {
	if f.header == nil {
		f.header = http.Header{}
	}
	return f.header
}
func (f *refusal) WriteHeader(status int)      { f.status = status }
func (f *refusal) Write(b []byte) (int, error) { return len(b), nil }

// longest is how long one request may take; events have no end.
const longest = 2 * time.Minute

func limited(next route) route {
	return func(w http.ResponseWriter, r *http.Request) error {
		if r.URL.Path == "/api/events" {
			return next(w, r)
		}
		http.NewResponseController(w).SetWriteDeadline(time.Now().Add(longest + patience)) // not all writers have one
		ctx, cancel := context.WithTimeout(r.Context(), longest)
		defer cancel()
		return next(w, r.WithContext(ctx))
	}
}
