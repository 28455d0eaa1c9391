// Package web serves the workshop page: the front end, embedded, and the JSON API
// that docs/api.md describes, for one folder of jobs and parts: on the
// loopback address, and when it is shared to paired devices of the network.
//
// The files are the truth. Every answer is worked out from the job's file as it
// stands on the disk; what costs time is kept by the job's digest, which covers
// the text and that of every part, so that nothing kept is ever stale. Whoever
// changes a file, the page, another page or a text editor, the watcher sees it and
// every page is told.
//
// Safe by default: Host and origin of every request are checked, no path leaves
// the folder (os.Root), bodies, caches and subscribers are bounded, files are
// written whole or not at all, and what is deleted goes to a trash.
package web
