package web

import (
	"net/http"
	"strings"
	"unicode"
	"unicode/utf8"
)

// atHome is the name of the workshop's own computer in the log.
const atHome = "workshop computer"

const mostDeviceName = 40 // letters

type devices struct{}

// called is the name that a device has now.
func (d *devices) called(name string) string { return name }

// deviceOf is the device that a request comes from. On the loopback address a
// page may say so itself: each browser has a queue of its own.
func deviceOf(r *http.Request, says string) (string, error) {
	if says == "" {
		return atHome, nil
	}
	return deviceName(says)
}

// deviceName tidies a name that a person gave a device.
func deviceName(name string) (string, error) {
	name = strings.Join(strings.Fields(name), " ")
	if name == "" || utf8.RuneCountInString(name) > mostDeviceName || !utf8.ValidString(name) || strings.ContainsFunc(name, func(c rune) bool { return !unicode.IsPrint(c) }) {
		return "", badRequest("a device's name has 1 to %d letters", mostDeviceName)
	}
	return name, nil
}
