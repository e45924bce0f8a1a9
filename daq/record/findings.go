package record

import "fmt"

// maxFindings is how many damaged places of a file are listed one by one.
const maxFindings = 20

// findings collects what is wrong with one file, in words, in the order of
// its lines. Damaged lines that follow each other are one finding.
type findings struct {
	file  string
	list  []string
	first int // of the damaged lines not listed yet; 0: none
	last  int
	bytes int
	why   error
	count int // of damaged places
}

// damaged notes that a line could not be read.
func (f *findings) damaged(line, bytes int, why error) {
	if f.first > 0 && line == f.last+1 {
		f.last = line
		f.bytes += bytes
		return
	}
	f.settle()
	f.first, f.last, f.bytes, f.why = line, line, bytes, why
}

// settle lists the damaged lines noted so far.
func (f *findings) settle() {
	if f.first == 0 {
		return
	}
	where := fmt.Sprintf("line %d", f.first)
	if f.last > f.first {
		where = fmt.Sprintf("lines %d to %d", f.first, f.last)
	}
	if f.count++; f.count <= maxFindings {
		f.add("damaged: %s left out (%d bytes): %v", where, f.bytes, f.why)
	}
	f.first = 0
}

// torn lists a last row, from line on, that is not whole.
func (f *findings) torn(line, bytes int) {
	f.settle()
	f.list = append(f.list, fmt.Sprintf("torn end: %s: line %d left out (%d bytes): the last row is not whole",
		f.file, line, bytes))
}

// tearOff makes the damaged lines noted last a torn end.
func (f *findings) tearOff() {
	line := f.first
	f.first = 0
	f.torn(line, f.bytes)
}

// add lists a finding about the file.
func (f *findings) add(format string, args ...any) {
	f.list = append(f.list, f.file+": "+fmt.Sprintf(format, args...))
}

// all settles and returns the findings.
func (f *findings) all() []string {
	f.settle()
	if more := f.count - maxFindings; more > 0 {
		f.add("damaged: %d more places", more)
	}
	return f.list
}
