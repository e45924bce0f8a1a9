package main

import (
	"os"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"

	"holdbench/daq/simbench"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"holdbench": func() { os.Exit(Main(os.Args[1:])) },
	})
}

// The stories of the command line: files, command, the exact line on stderr,
// exit code. The crane files of the demo lie in each story's folder.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: "testdata/script",
		Setup: func(env *testscript.Env) error {
			return os.CopyFS(env.WorkDir, simbench.CraneFiles())
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"exits":     exits,
			"rewrite":   rewrite,
			"simulates": simulates,
		},
	})
}
