package web

import (
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"net/http"
	"strings"
)

// The front end, built by go generate and kept in the repository so that the
// program builds without anything but Go.
//
//go:embed app/dist
var front embed.FS

// page serves a file of the front end.
func page(name, kind string) route {
	text, err := front.ReadFile("app/dist/" + name)
	tag := tagOf(text)
	return func(w http.ResponseWriter, r *http.Request) error {
		if err != nil {
			return notFound("the front end was not built: %s is missing", name)
		}
		h := w.Header()
		h.Set("Content-Type", kind)
		h.Set("Cache-Control", "no-cache")
		if fresh(w, r, tag) {
			return nil
		}
		w.Write(text)
		return nil
	}
}

func tagOf(text []byte) string {
	sum := sha256.Sum256(text)
	return hex.EncodeToString(sum[:12])
}

// fresh sets the ETag and says whether the client has just that, when it is told
// so.
func fresh(w http.ResponseWriter, r *http.Request, tag string) bool {
	tag = `"` + tag + `"`
	w.Header().Set("ETag", tag)
	for has := range strings.SplitSeq(r.Header.Get("If-None-Match"), ",") {
		if has = strings.TrimPrefix(strings.TrimSpace(has), "W/"); has == tag || has == "*" {
			w.WriteHeader(http.StatusNotModified)
			return true
		}
	}
	return false
}

// lasting answers for a digest: for ever when the client named it, else until
// the file changes.
func lasting(w http.ResponseWriter, r *http.Request, digest string) bool {
	asked := r.URL.Query().Get("digest")
	if r.PathValue("run") != "" || asked != "" && asked == digest { // a run's job is frozen
		w.Header().Set("Cache-Control", "private, max-age=31536000, immutable")
	} else {
		w.Header().Set("Cache-Control", "no-cache")
	}
	return fresh(w, r, tagOf([]byte(digest+" "+r.URL.Path+"?"+r.URL.RawQuery)))
}
