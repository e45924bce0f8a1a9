package record

import (
	"strconv"
	"time"
)

// Seconds is the conversion from clock time to the seconds that series, events
// and analysis use: d.Seconds(). A recording holds times as exact decimal
// numbers and reads them back as a time.Duration before it converts them, so
// that what is live and what is read back are the same bits.
func Seconds(d time.Duration) float64 { return d.Seconds() }

// appendSeconds appends d ≥ 0 in s as the exact decimal number, without
// trailing zeros: "0", "12.5", "0.000000001". Below 1e6 s no shorter text
// stands for the same float64, because no two decimal numbers of up to 15
// digits share one.
func appendSeconds(dst []byte, d time.Duration) []byte {
	dst = strconv.AppendInt(dst, int64(d/time.Second), 10)
	frac := int64(d % time.Second)
	if frac == 0 {
		return dst
	}
	dst = append(dst, '.')
	for unit := int64(1e8); frac > 0; unit /= 10 {
		dst = append(dst, byte('0'+frac/unit))
		frac %= unit
	}
	return dst
}

// maxSeconds is the largest whole number of seconds that a Duration holds.
const maxSeconds = int64((1<<63 - 1) / time.Second)

// parseSeconds reads what appendSeconds writes: digits, and after a point one
// to nine digits more.
func parseSeconds(text []byte) (time.Duration, bool) {
	var whole, frac int64
	i := 0
	for ; i < len(text) && i <= 10 && isDigit(text[i]); i++ {
		whole = whole*10 + int64(text[i]-'0')
	}
	if i == 0 || i > 10 || whole >= maxSeconds {
		return 0, false
	}
	if i < len(text) {
		digits := text[i+1:]
		if text[i] != '.' || len(digits) == 0 || len(digits) > 9 {
			return 0, false
		}
		for k := range 9 {
			frac *= 10
			if k < len(digits) {
				if !isDigit(digits[k]) {
					return 0, false
				}
				frac += int64(digits[k] - '0')
			}
		}
	}
	return time.Duration(whole*1e9 + frac), true
}

func isDigit(c byte) bool { return '0' <= c && c <= '9' }
