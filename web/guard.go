package web

import (
	"net"
	"net/http"
	"slices"
	"strings"
)

// The page's own rules: nothing inline, nothing from elsewhere, in nobody's
// frame.
const pagePolicy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; " +
	"connect-src 'self'; worker-src 'self'; manifest-src 'self'; font-src 'self'; frame-src 'self' blob:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"

// guard lets requests through that a browser made for this server: the Host is
// its own (a name that was rebound to its address is not), and the origin, where the browser names one, is the page's own.
func guard(scheme string, own func(*http.Request) bool, next http.Handler) http.Handler {
	cross := http.NewCrossOriginProtection()
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", pagePolicy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cache-Control", "no-store")
		if why := refuse(cross, scheme, own, r); why != "" {
			route(func(http.ResponseWriter, *http.Request) error {
				return newProblem(http.StatusForbidden, "refused", "The request came from elsewhere", "%s", why)
			}).ServeHTTP(w, r)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// refuse says why a request is not answered.
func refuse(cross *http.CrossOriginProtection, scheme string, own func(*http.Request) bool, r *http.Request) string {
	if !own(r) {
		return "open the page by the address that the server printed"
	}
	if origin := r.Header.Get("Origin"); origin != "" && origin != scheme+r.Host {
		return "only the page of this server is answered"
	}
	site := r.Header.Get("Sec-Fetch-Site")
	if strings.HasPrefix(r.URL.Path, "/api/") && site != "" && site != "same-origin" && site != "none" {
		return "only the page of this server is answered"
	}
	if cross.Check(r) != nil {
		return "only the page of this server may change anything"
	}
	return ""
}

// ownHost says whether the Host names this machine by a loopback name, with the
// port that the request came in by.
func ownHost(r *http.Request) bool {
	name, port, err := net.SplitHostPort(r.Host)
	if err != nil {
		name, port = strings.TrimSuffix(strings.TrimPrefix(r.Host, "["), "]"), "80"
	}
	if !slices.Contains([]string{"127.0.0.1", "localhost", "::1"}, name) {
		return false
	}
	if at, ok := r.Context().Value(http.LocalAddrContextKey).(net.Addr); ok {
		_, own, err := net.SplitHostPort(at.String())
		return err == nil && own == port
	}
	return true
}

// clientOf is the name that a page gives itself, or "".
func clientOf(r *http.Request) string {
	name := r.Header.Get("Brightcut-Client")
	if name == "" {
		name = r.URL.Query().Get("client") // pictures and events cannot send headers
	}
	if len(name) > 40 || strings.ContainsFunc(name, func(c rune) bool {
		return !(c >= 'a' && c <= 'z' || c >= 'A' && c <= 'Z' || c >= '0' && c <= '9' || c == '-' || c == '_')
	}) {
		return ""
	}
	return name
}
