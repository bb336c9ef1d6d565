package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"retrostage": func() { os.Exit(run(os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// Each script under testdata/script shows a terminal session.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(e *testscript.Env) error {
			// Never a window: the scripts are about the verbs without one.
			e.Setenv("DISPLAY", "")
			e.Setenv("WAYLAND_DISPLAY", "")
			return nil
		},
	})
}
