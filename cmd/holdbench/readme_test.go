package main

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write the README's examples anew from the files that tests read")

// example is a block of a document that shows a file: the comment names it.
var example = regexp.MustCompile("(?s)<!-- [a-z ]+: ([^ ]+) -->\n```toml\n(.*?)\n```\n")

// The examples in the README are files that the parsers' tests read, word for
// word, so that they cannot rot.
func TestReadmeShowsFilesThatTestsRead(t *testing.T) {
	path := filepath.Join("..", "..", "README.md")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	shown := 0
	fresh := example.ReplaceAllStringFunc(string(text), func(block string) string {
		m := example.FindStringSubmatch(block)
		file, err := os.ReadFile(filepath.Join("..", "..", filepath.FromSlash(m[1])))
		require.NoError(t, err)
		shown++
		head, _, _ := strings.Cut(block, "```toml")
		return head + "```toml\n" + strings.TrimSpace(string(file)) + "\n```\n"
	})
	require.Equal(t, 4, shown, "bench, procedure, characterisation and fluids file")
	if *update {
		require.NoError(t, os.WriteFile(path, []byte(fresh), 0o666))
		return
	}
	require.Equal(t, fresh, string(text), "run go test ./cmd/holdbench -run Readme -update")
}
