package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"brightcut/examples"
)

func TestMain(m *testing.M) { testscript.Main(m, map[string]func(){"brightcut": main}) }

// TestScripts runs the command lines of testdata/script in a copy of the example
// workshop, one file a behaviour.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		RequireExplicitExec: true,
		Condition: func(name string) (bool, error) {
			if name != "slow" {
				return false, fmt.Errorf("the condition %q is not known", name)
			}
			return os.Getenv("BRIGHTCUT_SLOW") != "", nil
		},
		Setup: func(env *testscript.Env) error {
			return fs.WalkDir(examples.Workshop, ".", func(name string, entry fs.DirEntry, err error) error {
				to := filepath.Join(env.WorkDir, "yard", filepath.FromSlash(name))
				if err != nil {
					return err
				}
				if entry.IsDir() {
					return os.MkdirAll(to, 0o755)
				}
				text, err := fs.ReadFile(examples.Workshop, name)
				if err != nil {
					return err
				}
				return os.WriteFile(to, text, 0o644)
			})
		},
	})
}
