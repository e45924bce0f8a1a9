package textline

import (
	"fmt"
	"strconv"
	"strings"
)

// Sum is one way of checking a text.
type Sum struct {
	// Name is its word in bench files.
	Name string
	// Bytes is how many bytes it has.
	Bytes int
	// Of returns the check of some bytes.
	Of func(b []byte) uint16
	// CheckValue is what it gives for "123456789", Source where that is from.
	CheckValue uint16
	Source     string
}

// Sums is every check that a line may carry.
var Sums = []Sum{
	{"sum", 1, sum, 0xDD, "L 0x31 + … + 0x39 = 0x1DD, modulo 256"},
	{"sum-negated", 1, negated, 0x23, "L 0x100 − 0xDD: text and check add up to 0 modulo 256"},
	{"xor", 1, xor, 0x31, "L 1⊕2⊕…⊕9 = 1, and nine times 0x30 leave 0x30"},
	{"crc16-modbus", 2, reflected(0xA001, 0xFFFF), 0x4B37, "V [3] CRC-16/MODBUS"},
	{"crc16-arc", 2, reflected(0xA001, 0), 0xBB3D, "M [3] CRC-16/ARC"},
	{"crc16-ccitt-false", 2, forward(0x1021, 0xFFFF), 0x29B1, "V [3] CRC-16/IBM-3740, also called CCITT-FALSE; C Python 3 binascii.crc_hqx"},
	{"crc16-xmodem", 2, forward(0x1021, 0), 0x31C3, "V [3] CRC-16/XMODEM; C Python 3 binascii.crc_hqx"},
	{"crc16-kermit", 2, reflected(0x8408, 0), 0x2189, "V [3] CRC-16/KERMIT"},
}

// SumNames are the words for them.
func SumNames() []string {
	names := make([]string, len(Sums))
	for i, s := range Sums {
		names[i] = s.Name
	}
	return names
}

// SumOf returns the check of that name.
func SumOf(name string) (Sum, bool) {
	for _, s := range Sums {
		if s.Name == name {
			return s, true
		}
	}
	return Sum{}, false
}

func sum(b []byte) uint16 {
	var s byte
	for _, c := range b {
		s += c
	}
	return uint16(s)
}

func negated(b []byte) uint16 { return uint16(-byte(sum(b))) }

func xor(b []byte) uint16 {
	var s byte
	for _, c := range b {
		s ^= c
	}
	return uint16(s)
}

// reflected is a CRC-16 that takes the lowest bit first; poly is mirrored.
func reflected(poly, initial uint16) func([]byte) uint16 {
	return func(b []byte) uint16 {
		crc := initial
		for _, c := range b {
			crc ^= uint16(c)
			for range 8 {
				low := crc & 1
				crc >>= 1
				if low != 0 {
					crc ^= poly
				}
			}
		}
		return crc
	}
}

// forward is a CRC-16 that takes the highest bit first.
func forward(poly, initial uint16) func([]byte) uint16 {
	return func(b []byte) uint16 {
		crc := initial
		for _, c := range b {
			crc ^= uint16(c) << 8
			for range 8 {
				high := crc & 0x8000
				crc <<= 1
				if high != 0 {
					crc ^= poly
				}
			}
		}
		return crc
	}
}

// SumForm is how a check is written in a line.
type SumForm string

// The forms of a check.
const (
	Hex     SumForm = "hex"     // two digits a byte, upper or lower case
	Decimal SumForm = "decimal" // digits, leading zeros or not
	Bytes   SumForm = "bytes"   // as they are
)

// Check says which check a line carries and where.
type Check struct {
	Sum  Sum
	Form SumForm // "" is Hex
	// After parts the text from its check, e.g. "*"; empty where the check is
	// simply the last characters. Decimal needs one.
	After string
	// WithPrefix and WithAfter say that the line's prefix, and After, are
	// checked with the text.
	WithPrefix, WithAfter bool
	// LowFirst says that the lower of two bytes comes first.
	LowFirst bool
}

// none says that lines carry no check.
func (c Check) none() bool { return c.Sum.Of == nil }

// length is how many characters the check has; 0 where that varies.
func (c Check) length() int {
	switch c.Form {
	case Decimal:
		return 0
	case Bytes:
		return c.Sum.Bytes
	}
	return 2 * c.Sum.Bytes
}

// Write returns the check of a text as a line carries it.
func (c Check) Write(checked string) string {
	x := c.Sum.Of([]byte(checked))
	if c.Form == Decimal {
		return strconv.Itoa(int(x))
	}
	b := []byte{byte(x >> 8), byte(x)}
	if c.LowFirst {
		b[0], b[1] = b[1], b[0]
	}
	if c.Sum.Bytes == 1 {
		b = []byte{byte(x)}
	}
	if c.Form == Bytes {
		return string(b)
	}
	return fmt.Sprintf("%X", b)
}

// Line is a text with its check behind it, as a line carries it, and the
// line's prefix before it.
func (c Check) Line(prefix, body string) string {
	return prefix + body + c.After + c.Write(c.checked(prefix, body))
}

// take parts the text from its check and says whether that is right. prefix
// has been taken off the text.
func (c Check) take(prefix, text string) (body string, err error) {
	at := len(text) - c.length()
	if c.After != "" {
		if at = strings.LastIndex(text[:max(0, min(at, len(text)))], c.After); at < 0 {
			return "", fmt.Errorf("no check sum after %q", c.After)
		}
	}
	if at < 0 {
		return "", fmt.Errorf("too short for a check sum")
	}
	body, said := text[:at], text[at+len(c.After):]
	want := c.Write(c.checked(prefix, body))
	if !c.same(said, want) {
		return "", fmt.Errorf("check sum %q, want %q", said, want)
	}
	return body, nil
}

// checked is what the check is made over.
func (c Check) checked(prefix, body string) string {
	if c.WithPrefix {
		body = prefix + body
	}
	if c.WithAfter {
		body += c.After
	}
	return body
}

func (c Check) same(said, want string) bool {
	switch c.Form {
	case Bytes:
		return said == want
	case Decimal:
		said = strings.TrimSpace(said)
		x, err := strconv.ParseUint(said, 10, 16)
		return err == nil && digits(said) == len(said) && strconv.FormatUint(x, 10) == want
	}
	return strings.EqualFold(strings.TrimSpace(said), want)
}
