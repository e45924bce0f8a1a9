package main

import (
	"encoding/json"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// arrows says who may use whom. A row forbids a package (and all below it) to
// import what stands behind it, save what is
// allowed by name. Data points forward, imports point inward.
var arrows = []struct {
	from      string
	forbidden []string
	allowed   []string
	reason    string
}{
	{from: "analysis", forbidden: []string{"daq", "report", "cmd"},
		reason: "what computes knows nothing of ports, files, clocks or pages"},
	{from: "daq", forbidden: []string{"report", "cmd", "analysis"},
		allowed: []string{"analysis/si", "analysis/series", "analysis/uncertainty", "analysis/fit", "analysis/verdict"},
		reason:  "acquisition uses words and arithmetic, never a model of a hold"},
	{from: "daq/simbench", forbidden: []string{"analysis/fluid", "analysis/decay"},
		reason: "a mistake made twice in the same way cannot be seen"},
	{from: "report", forbidden: []string{"cmd", "daq/link", "daq/modbus", "daq/textline", "daq/simbench"},
		allowed: nil,
		reason:  "pages are made from recordings, not from instruments"},
}

// pureRooms may import nothing that touches the world.
var pureRooms = []string{"analysis", "analysis/si", "analysis/series", "analysis/uncertainty", "analysis/fit", "analysis/fluid", "analysis/decay", "analysis/verdict", "analysis/characterisation", "analysis/challenge"}

var worldly = []string{"os", "net", "net/http", "time", "os/exec", "sync", "database/sql"}

type listed struct {
	ImportPath string
	Imports    []string
}

func house(t *testing.T) map[string]listed {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "holdbench/...").Output()
	require.NoError(t, err)
	all := map[string]listed{}
	dec := json.NewDecoder(strings.NewReader(string(out)))
	for dec.More() {
		var p listed
		require.NoError(t, dec.Decode(&p))
		all[strings.TrimPrefix(p.ImportPath, "holdbench/")] = p
	}
	require.NotEmpty(t, all)
	return all
}

func below(pkg, room string) bool { return pkg == room || strings.HasPrefix(pkg, room+"/") }

func TestImportsPointInward(t *testing.T) {
	all := house(t)
	for _, arrow := range arrows {
		seen := 0
		for pkg, p := range all {
			if !below(pkg, arrow.from) {
				continue
			}
			seen++
			for _, imp := range p.Imports {
				imp, ours := strings.CutPrefix(imp, "holdbench/")
				if !ours || below(imp, arrow.from) {
					continue
				}
				for _, room := range arrow.forbidden {
					if below(imp, room) && !slices.Contains(arrow.allowed, imp) {
						t.Errorf("%s imports %s: %s", pkg, imp, arrow.reason)
					}
				}
			}
		}
		require.NotZero(t, seen, "no package below %s: the rule guards nothing", arrow.from)
	}
}

func TestAnalysisTouchesNothing(t *testing.T) {
	all := house(t)
	for _, room := range pureRooms {
		p, ok := all[room]
		require.True(t, ok, "%s is gone: mend the list", room)
		for _, imp := range p.Imports {
			if slices.Contains(worldly, imp) {
				t.Errorf("%s imports %s: analysis reads no clock, file or port and starts no goroutine", room, imp)
			}
		}
	}
}

// What analysis does on one goroutine needs no race detector, which is too slow
// for its simulations.
func TestAnalysisStartsNoGoroutine(t *testing.T) {
	files := 0
	require.NoError(t, filepath.WalkDir("../../analysis", func(path string, _ fs.DirEntry, err error) error {
		if err != nil || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, nil, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		files++
		for _, found := range concurrent(file) {
			t.Errorf("%s: %s", set.Position(found.Pos()), "analysis starts no goroutine and shares nothing between those of others")
		}
		return nil
	}))
	require.NotZero(t, files)
}

// concurrent returns what a file has to do with goroutines: go statements,
// channels and imports of sync or what is below it.
func concurrent(file *ast.File) (found []ast.Node) {
	ast.Inspect(file, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.GoStmt, *ast.ChanType, *ast.SelectStmt:
			found = append(found, n)
		case *ast.ImportSpec:
			if below(strings.Trim(n.Path.Value, `"`), "sync") {
				found = append(found, n)
			}
		}
		return true
	})
	return found
}

func TestConcurrentSeesGoroutines(t *testing.T) {
	for text, want := range map[string]int{
		"package a\nfunc f() { g() }":                           0,
		"package a\nimport \"strings\"":                         0,
		"package a\nfunc f() { go g() }":                        1,
		"package a\nfunc f() { func() { go g() }() }":           1,
		"package a\nimport \"sync\"":                            1,
		"package a\nimport sync2 \"sync/atomic\"":               1,
		"package a\nfunc f(c chan int) { select { case <-c: }}": 2,
	} {
		file, err := parser.ParseFile(token.NewFileSet(), "a.go", text, parser.SkipObjectResolution)
		require.NoError(t, err)
		require.Len(t, concurrent(file), want, text)
	}
}
