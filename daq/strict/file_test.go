package strict_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/strict"
)

func TestFileThatCannotBeReadSaysWhatIsWanted(t *testing.T) {
	dir := t.TempDir()
	absent, large := filepath.Join(dir, "absent.toml"), filepath.Join(dir, "large.toml")
	require.NoError(t, os.WriteFile(large, make([]byte, strict.MaxFileSize+1), 0o600))

	_, err := strict.ReadFile(absent, "a bench file")
	assert.EqualError(t, err, absent+": found no such file, want a bench file")
	assert.ErrorIs(t, err, fs.ErrNotExist)
	_, err = strict.ReadFile(dir, "a bench file")
	assert.EqualError(t, err, dir+": found a folder, want a bench file")
	_, err = strict.ReadFile(large, "a bench file")
	assert.EqualError(t, err, large+": found more than 4 MB, want a bench file")

	text, err := strict.ReadFile("file_test.go", "a bench file")
	require.NoError(t, err)
	assert.Contains(t, string(text), "package strict_test")
}

func TestFileWithoutPermissionSaysSo(t *testing.T) {
	if os.Geteuid() == 0 {
		t.Skip("the superuser may read everything; a plain user's run checks it")
	}
	closed := filepath.Join(t.TempDir(), "closed.toml")
	require.NoError(t, os.WriteFile(closed, nil, 0o000))
	_, err := strict.ReadFile(closed, "a bench file")
	assert.EqualError(t, err, closed+": found a file that may not be read, want a bench file")
}

// Source: V FIPS 180-4, the "abc" example of SHA-256.
func TestHashIsSHA256(t *testing.T) {
	assert.Equal(t, "sha256:ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", strict.Hash([]byte("abc")))
}
