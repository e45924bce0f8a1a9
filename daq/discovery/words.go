package discovery

import (
	"fmt"
	"time"

	"holdbench/analysis/si"
)

// String says where an exchange's time goes, in words.
func (d Delays) String() string {
	if d.Exchanges == 0 {
		return "no exchange was answered"
	}
	text := fmt.Sprintf("an exchange is %s of characters on the wire", ms(d.Wire))
	if d.Wire == 0 {
		text = "an exchange goes over the network, which has no baud"
	}
	between := ""
	if d.BesidesHigh-d.BesidesLow > slack {
		between = fmt.Sprintf(" (%s to %s)", ms(d.BesidesLow), ms(d.BesidesHigh))
	}
	switch {
	case d.Besides < slack:
		return text + ", and hardly anything besides"
	case !d.Told && d.Timer > 0:
		return text + fmt.Sprintf("; module and adapter together take %s besides%s, and the adapter's latency timer is %s: how much of it the adapter takes cannot be told from here",
			ms(d.Besides), between, ms(d.Timer))
	case !d.Told:
		return text + fmt.Sprintf("; module or adapter: %s together%s, which of them cannot be told from here", ms(d.Besides), between)
	}
	text += "; the module answers after " + ms(d.Module)
	if d.ModuleHigh-d.ModuleLow > slack {
		text += fmt.Sprintf(" (%s to %s)", ms(d.ModuleLow), ms(d.ModuleHigh))
	}
	switch {
	case d.Seen:
		text += fmt.Sprintf("; the adapter holds answers back until its latency timer of %s expires, %s on average", ms(d.Timer), ms(d.Timer/2))
	case d.Timer > slack:
		text += fmt.Sprintf("; the adapter's latency timer of %s holds nothing back here", ms(d.Timer))
	case d.Timer > 0:
		text += fmt.Sprintf("; the adapter's latency timer is %s", ms(d.Timer))
	}
	return text
}

// Costly says whether the adapter's timer is worth lowering: it takes a good
// part of what an exchange takes.
func (d Delays) Costly() bool {
	return d.Seen && d.Timer > 2*slack && d.Timer/2 > (d.Wire+d.Besides)/8
}

// ms is a duration in ms with one decimal below 100 ms.
func ms(d time.Duration) string {
	decimals := 1
	if d >= 100*time.Millisecond || d%time.Millisecond == 0 {
		decimals = 0
	}
	return si.Format(1e3*d.Seconds(), decimals) + " ms"
}
