package report

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFilesAreReadWithTheirHashes(t *testing.T) {
	folder := fstest.MapFS{
		"readings.csv": {Data: []byte("time [s]\r\n0\r\n")},
		"events.csv":   {Data: nil},
		"long.csv":     {Data: bytes.Repeat([]byte("0,1\n"), MostCarried/4+1)},
	}
	files, err := ReadFiles(folder, "readings.csv", "events.csv", "long.csv")
	require.NoError(t, err)
	for _, f := range files {
		sum := sha256.Sum256(folder[f.Name].Data)
		assert.Equal(t, "sha256:"+hex.EncodeToString(sum[:]), f.Hash, f.Name)
		assert.Equal(t, int64(len(folder[f.Name].Data)), f.Size, f.Name)
		assert.Equal(t, f.Name == "long.csv", f.Content == nil, f.Name)
	}
	_, err = ReadFiles(folder, "missing.csv")
	assert.ErrorIs(t, err, fs.ErrNotExist)
	assert.ErrorContains(t, err, "missing.csv")
}

func TestSmallFilesAreCarriedFirst(t *testing.T) {
	files := []File{
		NewFile("readings.csv", make([]byte, MostCarried-10)), NewFile("events.csv", make([]byte, 20)), NewFile("result.json", nil),
	}
	carried := Carried(files)
	assert.Nil(t, carried[0].Content)
	assert.NotEmpty(t, carried[0].Hash)
	assert.Len(t, carried[1].Content, 20)
	assert.NotNil(t, carried[2].Content, "an empty file is carried")
	assert.NotNil(t, files[0].Content, "the caller's files stay as they are")
	assert.NotNil(t, Carried(files[:1])[0].Content, "alone it fits")
}

func TestFilesPageTellsWhatIsHere(t *testing.T) {
	text := pageText(ComposeSet(exampleFacts()))
	has(t, text, "attached\n")
	assert.False(t, strings.Contains(text, "not attached") || strings.Contains(text, "Readings in short"))
	f := largeFacts()
	text = pageText(ComposeSet(f))
	for _, want := range []string{"readings.csv\nreadings\n260000000\nnot attached\n", "Readings in short, circuit b\n", strings.TrimPrefix(f.Files[1].Hash, "sha256:") + "\n"} {
		has(t, text, want)
	}
	// the example holds 100 bar from its 50th second on; a line is 510 s / 48
	has(t, text, "53.1\n63.8\n")
}

func TestDocumentWithFilesIsTheSameEachTime(t *testing.T) {
	write := func(f Facts) []byte {
		var b bytes.Buffer
		require.NoError(t, DocumentOf(f).WritePDF(&b))
		return b.Bytes()
	}
	first := write(exampleFacts())
	assert.True(t, bytes.Equal(first, write(exampleFacts())))
	other := exampleFacts()
	other.Files[2] = NewFile("events.csv", []byte("other"))
	assert.False(t, bytes.Equal(first, write(other)))
}

func TestAttachedFilesAreReadBackAsTheyWentIn(t *testing.T) {
	for _, tool := range []string{"pdfdetach", "qpdf"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("no %s here; .ci/run has it", tool)
		}
	}
	f := exampleFacts()
	f.Files = append(f.Files, NewFile("Ωμέγα.csv", []byte{}))
	folder := t.TempDir()
	file := filepath.Join(folder, "set.pdf")
	var b bytes.Buffer
	require.NoError(t, DocumentOf(f).WritePDF(&b))
	require.NoError(t, os.WriteFile(file, b.Bytes(), 0o600))
	out, err := exec.Command("qpdf", "--check", file).CombinedOutput()
	require.NoError(t, err, string(out))
	out, err = exec.Command("pdfdetach", "-saveall", "-o", folder, file).CombinedOutput()
	require.NoError(t, err, string(out))
	for _, want := range f.Files {
		got, err := os.ReadFile(filepath.Join(folder, want.Name))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(want.Content, got), want.Name)
	}
}
