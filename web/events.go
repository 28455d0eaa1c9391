package web

import (
	"encoding/json"
	"net/http"
	"sync"
	"time"
)

// event is something that every page hears, or only the client named in to.
type event struct {
	name string
	to   string
	data any
}

type changed struct {
	ID       string `json:"id"`
	Kind     string `json:"kind,omitempty"`
	Revision string `json:"revision,omitempty"`
	By       string `json:"by"`
}

type progress struct {
	ID    string `json:"id"`
	What  string `json:"what"`
	Done  int    `json:"done"`
	Total int    `json:"total"`
}

const (
	mostListeners = 64
	mostUnheard   = 64 // events that wait for one listener
	heartbeat     = 15 * time.Second
	patience      = 10 * time.Second // for one write to a client that does not read
)

// hub hands events to the pages that listen.
type hub struct {
	mu        sync.Mutex
	listeners map[*listener]bool
}

type listener struct {
	client string
	events chan event // closed when the listener is cut off
}

func (h *hub) listen(client string) (*listener, bool) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(h.listeners) >= mostListeners {
		return nil, false
	}
	if h.listeners == nil {
		h.listeners = map[*listener]bool{}
	}
	l := &listener{client, make(chan event, mostUnheard)}
	h.listeners[l] = true
	return l, true
}

func (h *hub) leave(l *listener) {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.cut(l)
}

func (h *hub) cut(l *listener) {
	if h.listeners[l] {
		delete(h.listeners, l)
		close(l.events)
	}
}

// tell never waits: a listener that is behind is cut off, and reads afresh when
// it is back. Progress is only worth hearing now, so of it some is left out.
func (h *hub) tell(e event) {
	h.mu.Lock()
	defer h.mu.Unlock()
	for l := range h.listeners {
		if e.to != "" && e.to != l.client {
			continue
		}
		if e.name == "progress" && len(l.events) > mostUnheard/2 {
			continue
		}
		select {
		case l.events <- e:
		default:
			h.cut(l)
		}
	}
}

// events is the stream of one page.
func (s *Server) events(w http.ResponseWriter, r *http.Request) error {
	l, ok := s.hub.listen(clientOf(r))
	if !ok {
		return newProblem(http.StatusServiceUnavailable, "busy", "Too many pages are open", "close some of them")
	}
	defer s.hub.leave(l)
	out := http.NewResponseController(w)
	h := w.Header()
	h.Set("Content-Type", "text/event-stream")
	send := func(text string) bool {
		out.SetWriteDeadline(time.Now().Add(patience)) // not all writers have one
		if _, err := w.Write([]byte(text)); err != nil {
			return false
		}
		return out.Flush() == nil
	}
	tell := func(name string, data any) bool {
		b, err := json.Marshal(data)
		if err != nil {
			panic("web: an event that JSON cannot hold: " + err.Error())
		}
		return send("event: " + name + "\ndata: " + string(b) + "\n\n")
	}
	if !tell("hello", map[string]string{"client": l.client}) {
		return nil
	}
	beat := time.NewTicker(heartbeat)
	defer beat.Stop()
	for {
		select {
		case <-r.Context().Done():
			return nil
		case <-s.ctx.Done():
			return nil
		case <-beat.C:
			if !send(": beat\n\n") {
				return nil
			}
		case e, open := <-l.events:
			if !open || !tell(e.name, e.data) {
				return nil
			}
		}
	}
}
