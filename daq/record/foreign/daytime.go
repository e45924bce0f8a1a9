package foreign

import "bytes"

// daytime is a time of day, or a running time of hours, minutes, seconds.
type daytime struct {
	field  [3]int64
	fields int   // 2 or 3
	nanos  int64 // below the last field, in its unit of time
	exact  bool  // a fraction was written
	offset int64 // of the zone, ns east of UTC
	zoned  bool
}

const (
	second = int64(1e9) // ns
	minute = 60 * second
	hour   = 60 * minute
	day    = 24 * hour
)

// cutDaytime reads hh:mm, hh:mm:ss or mm:ss with a fraction after point or
// comma (or three figures after a third colon), AM or PM, and a zone. The whole
// text must be one.
//
// Source: [2] 5.3.1 and 5.3.4, without the forms that lack colons.
func cutDaytime(text []byte) (daytime, bool) {
	var t daytime
	for t.fields < 3 {
		n := 0
		for n < len(text) && n < 5 && isDigit(text[n]) {
			t.field[t.fields] = t.field[t.fields]*10 + int64(text[n]-'0')
			n++
		}
		if n == 0 || t.fields > 0 && n != 2 {
			return t, false
		}
		t.fields++
		text = text[n:]
		if len(text) == 0 || text[0] != ':' || t.fields == 3 {
			break
		}
		text = text[1:]
	}
	if t.fields < 2 || t.field[1] > 59 || t.fields == 3 && t.field[2] > 60 {
		return t, false
	}
	text, ok := t.fraction(text)
	if !ok {
		return t, false
	}
	return t, len(text) == 0 || t.suffix(trim(text))
}

// fraction reads what follows the last field; more than nine figures are cut.
func (t *daytime) fraction(text []byte) (rest []byte, ok bool) {
	if len(text) == 0 || text[0] != '.' && text[0] != ',' && text[0] != ':' {
		return text, true
	}
	n, scale := 1, second
	for ; n < len(text) && isDigit(text[n]); n++ {
		scale /= 10
		t.nanos += int64(text[n]-'0') * scale
	}
	t.exact = true
	return text[n:], n > 1 && (text[0] != ':' || t.fields == 3 && n == 4)
}

// suffix reads AM, PM and a zone.
func (t *daytime) suffix(text []byte) bool {
	if len(text) >= 2 && text[0]|0x20 != 'z' {
		switch mark := string(bytes.ToLower(text[:2])); {
		case mark != "am" && mark != "pm":
		case t.field[0] < 1 || t.field[0] > 12:
			return false
		default:
			t.field[0] %= 12
			if mark == "pm" {
				t.field[0] += 12
			}
			text = trim(text[2:])
		}
	}
	if len(text) == 0 {
		return true
	}
	var ok bool
	t.offset, ok = zoneOffset(text)
	t.zoned = ok
	return ok
}

// zoneOffset reads Z, UTC, GMT, +01:00, +0100 or +01, in ns east of UTC.
func zoneOffset(text []byte) (int64, bool) {
	switch string(bytes.ToUpper(text)) {
	case "Z", "UTC", "GMT":
		return 0, true
	}
	digits := plainSign(text)
	if len(digits) == len(text) {
		return 0, false
	}
	if len(digits) == 5 && digits[2] == ':' {
		digits = append(append([]byte{}, digits[:2]...), digits[3:]...)
	}
	if len(digits) == 2 {
		digits = append(append([]byte{}, digits...), "00"...)
	}
	if len(digits) != 4 || !allDigits(digits) {
		return 0, false
	}
	h, m := int64(digits[0]-'0')*10+int64(digits[1]-'0'), int64(digits[2]-'0')*10+int64(digits[3]-'0')
	if h > 15 || m > 59 {
		return 0, false
	}
	offset := h*hour + m*minute
	if text[0] != '+' {
		offset = -offset
	}
	return offset, true
}

// open reports whether hours and minutes cannot be told from minutes and
// seconds.
func (t daytime) open() bool { return t.fields == 2 && !t.exact }

// ns is the time since midnight, or since the start; short says that two
// fields are minutes and seconds.
func (t daytime) ns(short bool) int64 {
	switch {
	case t.fields == 3:
		return t.field[0]*hour + t.field[1]*minute + t.field[2]*second + t.nanos
	case short || t.exact:
		return t.field[0]*minute + t.field[1]*second + t.nanos
	}
	return t.field[0]*hour + t.field[1]*minute
}

// daytimeOf is the time of day that follows a date in a stamp.
func daytimeOf(rest []byte) []byte {
	if len(rest) > 0 && (rest[0] == 'T' || rest[0] == 't' || rest[0] == '_') {
		return rest[1:]
	}
	return trim(rest)
}
