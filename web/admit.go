package web

import (
	"context"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strconv"
	"strings"
)

// unpaired are the paths that a device may ask for before it is paired: what pairing
// takes, and nothing of the workshop.
var unpaired = []string{"/pair", "/api/pair", "/assets/app.js", "/assets/app.css", "/sw.js", "/manifest.webmanifest", "/workshop.crt"}

// guardShared lets requests through that a paired device's browser made for this
// server by one of its addresses in the network.
func (s *Server) guardShared(sh *sharing, next http.Handler) http.Handler {
	return guard("https://", sh.ownHost, route(func(w http.ResponseWriter, r *http.Request) error {
		if r.URL.Path == "/workshop.crt" {
			return sh.certificateFile(w)
		}
		if slices.Contains(unpaired, r.URL.Path) {
			next.ServeHTTP(w, r)
			return nil
		}
		var d *device
		held, err := r.Cookie(cookieName)
		if err == nil {
			d = s.devices.holder(s.root, held.Value)
		}
		switch {
		case d == nil && r.URL.Path == "/":
			http.Redirect(w, r, "/pair", http.StatusSeeOther)
			return nil
		case d == nil:
			return newProblem(http.StatusUnauthorized, "unpaired", "This device is not paired", "ask for a code on the workshop's computer and enter it at /pair")
		case atHomeOnly(r):
			return newProblem(http.StatusForbidden, "refused", "Only the workshop's computer may do this", "pairing, taking back and deleting are done there")
		}
		if r.URL.Path == "/" {
			http.SetCookie(w, cookie(held.Value))
		}
		// What is under way ends when the device is revoked, its stream of events first.
		ctx, cancel := context.WithCancel(context.WithValue(r.Context(), deviceKey{}, d))
		defer cancel()
		defer context.AfterFunc(d.ctx, cancel)()
		next.ServeHTTP(w, r.WithContext(ctx))
		return nil
	}))
}

// atHomeOnly says whether a request is for the workshop's own computer to make.
func atHomeOnly(r *http.Request) bool {
	return r.Method == http.MethodDelete || strings.HasPrefix(r.URL.Path, "/api/share/")
}

// ownHost says whether the Host names this machine as the network does: by the
// address that the connection came in by, or by its name there.
func (sh *sharing) ownHost(r *http.Request) bool {
	name, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		return false
	}
	if port != strconv.Itoa(sh.port) {
		return false
	}
	if own := localName(); own != "" && strings.EqualFold(strings.TrimSuffix(name, "."), own) {
		return true
	}
	asked, err := netip.ParseAddr(name)
	at, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr)
	return err == nil && ok && asked.Unmap() == addrOf(at) && sh.within(asked.Unmap())
}
