package report

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"
	"io/fs"
	"path"
	"sort"
	"strings"
)

// MostCarried is how many bytes of files a document carries, all together.
const MostCarried = 20_000_000

// File is a file that belongs to a result.
type File struct {
	// Name is its name without a folder; Description says what it is.
	Name, Description string
	Size              int64
	// Hash is "sha256:…" of the content.
	Hash string
	// Content is nil where the file is too large to be carried.
	Content []byte
}

// NewFile is a file of that content, which it keeps.
func NewFile(name string, content []byte) File {
	if content == nil {
		content = []byte{}
	}
	sum := sha256.Sum256(content)
	return File{
		Name: name, Description: describe(name), Size: int64(len(content)),
		Hash: "sha256:" + hex.EncodeToString(sum[:]), Content: content,
	}
}

// describe says what a file is, by the names that recordings use.
func describe(name string) string {
	switch base := strings.ToLower(name); {
	case base == "readings.csv":
		return "readings"
	case base == "events.csv":
		return "events"
	case base == "datapackage.json":
		return "description"
	case strings.HasPrefix(base, "result") && path.Ext(base) == ".json":
		return "result"
	}
	return "input"
}

// ReadFiles reads files of a folder (os.DirFS) for a document, and of one that
// is larger than MostCarried by itself the hash alone, so that no more than
// what is carried is held in memory. The errors are those of the file system
// and name the file.
func ReadFiles(folder fs.FS, names ...string) ([]File, error) {
	var files []File
	for _, name := range names {
		f, err := readFile(folder, name)
		if err != nil {
			return nil, fmt.Errorf("attach to the report: %w", err)
		}
		files = append(files, f)
	}
	return files, nil
}

func readFile(folder fs.FS, name string) (f File, err error) {
	in, err := folder.Open(name)
	if err != nil {
		return File{}, err
	}
	defer in.Close()
	info, err := in.Stat()
	if err != nil {
		return File{}, err
	}
	if info.Size() <= MostCarried {
		content, err := io.ReadAll(in)
		return NewFile(path.Base(name), content), err
	}
	sum := sha256.New()
	size, err := io.Copy(sum, in)
	return File{
		Name: path.Base(name), Description: describe(path.Base(name)), Size: size,
		Hash: "sha256:" + hex.EncodeToString(sum.Sum(nil)),
	}, err
}

// Carried returns the files in their order, the content left out of those that
// a document cannot carry: the small ones go first, so that a long recording
// loses its readings and not its description.
func Carried(files []File) []File {
	carried := append([]File(nil), files...)
	order := make([]int, len(files))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(a, b int) bool { return len(files[order[a]].Content) < len(files[order[b]].Content) })
	room := MostCarried
	for _, i := range order {
		if n := len(carried[i].Content); n <= room {
			room -= n
		} else {
			carried[i].Content = nil
		}
	}
	return carried
}

// filePages list the files with their hashes in full; where one is not in the
// document, the readings follow as a table.
func (c *composer) filePages() []*Page {
	if len(c.f.Files) == 0 {
		return nil
	}
	flow := newFlow(c.sheet, c.titled("Files"))
	files := Carried(c.f.Files)
	flow.add(single(c.aside("Attached files are inside this PDF document; its viewer shows them under attachments."), 0))
	flow.add(single(c.fileTable(files), between))
	whole := true
	for _, f := range files {
		whole = whole && f.Content != nil
	}
	if whole {
		return flow.pages
	}
	flow.add(single(c.aside(fmt.Sprintf(
		"Files of more than %d MB together are not carried: the hash tells whether a copy is the one that was judged. What was measured follows in short.",
		MostCarried/1_000_000)), between))
	for _, r := range c.f.Recorded {
		flow.add(single(c.readings(r), between))
	}
	return flow.pages
}

func (c *composer) fileTable(files []File) block {
	columns := []column{
		{title: "file", weight: 1.4},
		{title: "what", weight: 1},
		{title: "bytes", kind: numbers},
		{title: "here", kind: tight},
		{title: "SHA-256", kind: tight, small: true},
	}
	var rows []row
	for _, f := range files {
		here := "attached"
		if f.Content == nil {
			here = "not attached"
		}
		hash := strings.TrimPrefix(f.Hash, "sha256:")
		rows = append(rows, row{cells: []string{f.Name, f.Description, fmt.Sprint(f.Size), here, orNone(hash)}})
	}
	return c.table("Recording and result", columns, rows, c.textWidth)
}
