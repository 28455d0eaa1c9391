package web

import "net/http"

// worker serves the page's service worker, which may speak for the whole page.
func worker(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Service-Worker-Allowed", "/")
	return page("sw.js", "text/javascript; charset=utf-8")(w, r)
}

// manifest lets a tablet put the page beside its other programs.
func manifest(w http.ResponseWriter, r *http.Request) error {
	const text = `{
  "name": "Brightcut",
  "short_name": "Brightcut",
  "start_url": "/",
  "scope": "/",
  "display": "fullscreen",
  "background_color": "#0e0f12",
  "theme_color": "#0e0f12"
}
`
	w.Header().Set("Content-Type", "application/manifest+json")
	w.Header().Set("Cache-Control", "no-cache")
	if fresh(w, r, tagOf([]byte(text))) {
		return nil
	}
	w.Write([]byte(text))
	return nil
}
