package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCommand struct{}

func (versionCommand) Help() string { return "Example:\n\n  brightcut version" }

func (versionCommand) Run(b console) error {
	_, err := fmt.Fprintf(b.out, "brightcut %s (%s)\n", programVersion(), runtime.Version())
	return err
}

// programVersion says what this program was built from.
func programVersion() string {
	version, revision, changed := "development", "", ""
	if info, ok := debug.ReadBuildInfo(); ok {
		if v := info.Main.Version; v != "" && v != "(devel)" {
			version = v
		}
		for _, s := range info.Settings {
			switch {
			case s.Key == "vcs.revision" && len(s.Value) >= 12:
				revision = ", revision " + s.Value[:12]
			case s.Key == "vcs.modified" && s.Value == "true":
				changed = ", changed since"
			}
		}
	}
	return version + revision + changed
}
