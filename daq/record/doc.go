// Package record knows recordings: one folder a run, append-only, crash-safe,
// self-describing. It judges nothing, and knows nothing of instruments, pages
// or models of a hold.
//
// # The format, version 1
//
// A recording is a Tabular Data Package [1]: a folder with datapackage.json,
// readings.csv and events.csv. Both tables are CSV as in [2]: UTF-8, comma,
// CRLF, a header, quotes where a cell needs them.
//
// readings.csv has a row for each scan: one instrument's answer at one
// instant. Its columns are
//
//	time [s]             since the start, an exact decimal number of up to
//	                     nine places
//	scan                 the name of the instrument that was read
//	<channel> [<unit>]   for each channel its value in the SI unit; pressure
//	                     is gauge
//	<channel> raw [<unit>]  beside it, where a conversion was applied, the
//	                     number as the instrument sent it
//
// A row belongs to the channels of the instrument that it names: of those, an
// empty value means that the instrument was asked and gave no valid reading
// (the raw number stands there all the same, if there was one, and an event
// says why). Cells of all other channels are empty because their instruments
// were not asked. Numbers are the shortest decimals that read back to the
// same float64; a raw number may be INF or -INF.
//
// Rows stand in the order in which they were told. Of one instrument the
// times are strictly increasing.
//
// events.csv has a record for each event:
//
//	time [s], until [s], kind, circuit, subject, text
//
// An instant has its own time as until. An interval is written when it begins,
// with until empty, and again when it ends; the two belong together by time,
// kind, circuit and subject. Line breaks in texts are quoted.
//
// datapackage.json describes both (fields, types, units) and has under
// "holdbench" what the standard does not provide for: version, state, and
// Meta. It is written with state "open" before the first scan, and replaced at
// the close by one with state "closed" and with bytes and hash
// ("sha256:…") of each table. So "open" means running, or cut short.
//
// # After a crash
//
// Tables are only ever appended to, in whole rows, and synced at least once a
// second of wall time. A power cut leaves what was synced and perhaps more.
// The reader leaves out a last row that is not whole (too few columns, or no
// line end), and rows in the middle that cannot be read; it says so for each,
// and differently. It cannot see a changed digit in a file without a hash.
//
// Sources:
//
//	[1] Frictionless Data, Tabular Data Package, Tabular Data Resource and
//	    Table Schema, version 1.
//	[2] RFC 4180 (2005), Common Format and MIME Type for CSV Files.
package record
