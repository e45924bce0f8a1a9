package bench_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/bench"
)

func TestEachFaultOfATextInstrument(t *testing.T) {
	const (
		where  = `bench.toml:25: instrument "probe": `
		body   = `bench.toml:61: channel "body": `
		stream = `separator = ";"`
		asked  = `kind = "text-stream"`
	)
	in := func(lines string) []string { return []string{stream, stream + "\n" + lines} }
	channel := func(lines string) []string { return []string{`column = 1`, lines} }
	ask := func(lines string) []string {
		return []string{asked, `kind = "text-asked"`, stream, stream + "\n" + lines}
	}
	for _, c := range []struct {
		name  string
		edits []string
		want  []string
	}{
		{"all of it", append(in("prefix = \"<STX>\"\nsuffix = \"X\"\nterminator = \"CRLF\"\ncomment = [\"#\", \"//\"]\nline_length = 40\n"+
			"checksum = \"crc16-modbus\"\nchecksum_form = \"bytes\"\nchecksum_after = \"<ETX>\"\nchecksum_over = \"prefix, text and delimiter\"\nchecksum_order = \"low-first\""),
			channel("characters = [1, 8]\nunit_text = \"grd\"\ndecimals = 2\nunit_column = 3")...), nil},
		{"asked", ask("query = \"MEAS?\"\nquery_terminator = \"CR\"\nidentify = \"\"\nsetup = [\"*CLS\"]"), nil},
		{"asked without a query", ask(""), []string{
			`bench.toml:57: channel "body": query: found nothing, want what asks for this channel, e.g. "MEAS?", here or with instrument "probe"`,
			`bench.toml:64: channel "room": query: found nothing, want what asks for this channel, e.g. "MEAS?", here or with instrument "probe"`}},
		{"query of a stream", in(`query = "MEAS?"`), []string{
			where + `query: found "MEAS?", want no such key here (text-asked only)`}},
		{"identify", ask("query = \"MEAS?\"\nidentify = 1"), []string{
			`bench.toml:26: instrument "probe": identify: found 1, want a query in quotes, or "" for none`}},
		{"identity", ask("query = \"MEAS?\"\nidentity = \"TX-2,0042\""), nil},
		{"empty identity", ask("query = \"MEAS?\"\nidentity = \"\""), []string{
			`bench.toml:26: instrument "probe": identity: found "", want a text in quotes, on one line`}},
		{"identity that is not asked for", ask("query = \"MEAS?\"\nidentify = \"\"\nidentity = \"TX-2\""), []string{
			`bench.toml:27: instrument "probe": identity: found "TX-2", want no such key here (where identify asks for it only)`}},
		{"identity of a stream", in(`identity = "TX-2"`), []string{
			where + `identity: found "TX-2", want no such key here (text-asked only)`}},
		{"no such check sum", in(`checksum = "crc32"`), []string{
			where + `checksum: found "crc32", want "sum" or "sum-negated" or "xor" or "crc16-modbus" or "crc16-arc" or "crc16-ccitt-false" or "crc16-xmodem" or "crc16-kermit"`}},
		{"form of no check sum", in(`checksum_form = "hex"`), []string{
			where + `checksum_form: found "hex", want no such key here (with checksum only)`}},
		{"decimal check sum without a mark", in("checksum = \"sum\"\nchecksum_form = \"decimal\""), []string{
			`bench.toml:20: instrument "probe": checksum_after: found nothing, want what stands before the check sum, e.g. "*", as its length varies`}},
		{"check sum in bytes without a terminator", in("checksum = \"sum\"\nchecksum_form = \"bytes\""), []string{
			`bench.toml:20: instrument "probe": terminator: found nothing, want what ends a line, e.g. "CRLF", as any byte may stand in the check sum`}},
		{"order of one byte", in("checksum = \"sum\"\nchecksum_order = \"low-first\""), []string{
			`bench.toml:26: instrument "probe": checksum_order: found "low-first", want no such key here (a check sum of two bytes only)`}},
		{"no length", in(`line_length = 0`), []string{where + `line_length: found 0, want a whole number from 1 to 4096`}},
		{"two places", channel("column = 1\nfield = \"T\""), []string{
			body + `field: found "T", want one of column, characters, field and pattern`}},
		{"characters backwards", channel("characters = [8, 1]"), []string{
			`bench.toml:60: channel "body": characters: found [8, 1], want the first and the last character of the number, counted from 1, e.g. [1, 8]`}},
		{"same characters", append(channel("characters = [1, 8]"), `column = 2`, `characters = [8, 9]`), []string{
			`bench.toml:67: channel "room": characters: found [8, 9], of which channel "body" reads some already, want characters of its own`}},
		{"same field", append(channel(`field = "T"`), `column = 2`, `field = "T"`), []string{
			`bench.toml:67: channel "room": field: found "T", which channel "body" reads already, want another field`}},
		{"no pattern", channel(`pattern = "T=.*"`), []string{
			`bench.toml:60: channel "body": pattern: found "T=.*", want a regular expression with one group, the number, e.g. "P *= *([-+.0-9]+)"`}},
		{"unit where the number is", channel("column = 1\nunit_column = 1"), []string{
			body + `unit_column: found 1, where the number stands, want another column; a unit right behind its number needs no key`}},
		{"words of a number", channel("column = 1\non = \"ON\""), []string{
			body + `on: found "ON", want no such key here (quantity = "state" only)`}},
		{"column without a separator", []string{stream, ""}, []string{
			`bench.toml:67: channel "room": column: found 2, want 1, as instrument "probe" has no separator`}},
		{"state without words", []string{"name = \"room\"\nquantity = \"temperature\"", "name = \"room\"\nquantity = \"state\"", "column = 2\nraw_unit = \"°C\"", "column = 2", "temperature_channel = \"room\"", ""}, []string{
			`bench.toml:63: channel "room": on: found nothing, want a text in quotes, on one line`,
			`bench.toml:63: channel "room": off: found nothing, want a text in quotes, on one line`}},
		{"state with one word", []string{"name = \"room\"\nquantity = \"temperature\"", "name = \"room\"\nquantity = \"state\"", "column = 2\nraw_unit = \"°C\"", "column = 2\non = 1\noff = \"1\"", "temperature_channel = \"room\"", ""}, []string{
			`bench.toml:69: channel "room": off: found "1", which is on, want another word than for on`}},
		{"two asked on a line", []string{asked, "kind = \"text-asked\"\nquery = \"A\"",
			`interval = "1 s"`, "interval = \"1 s\"\n[[instrument]]\nname = \"second\"\nkind = \"text-asked\"\nlink = \"wire\"\nquery = \"B\"\ninterval = \"1 s\"",
			"name = \"room\"\nquantity = \"temperature\"\ninstrument = \"probe\"\ncolumn = 2", "name = \"room\"\nquantity = \"temperature\"\ninstrument = \"second\""}, []string{
			`bench.toml:27: instrument "second": prefix: found "", want what begins the replies of this instrument alone, e.g. its address, as instrument "probe" answers on the same link`}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := bench.Parse("bench.toml", []byte(broken(t, small, c.edits...)))
			assert.Equal(t, c.want, lines(err))
		})
	}
}
