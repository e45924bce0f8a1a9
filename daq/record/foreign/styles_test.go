package foreign

import (
	"strings"
	"time"
)

// layoutRow is one invented logger: how it writes, and what must come out.
// The files stand in testdata/loggers.
type layoutRow struct {
	file     string
	style    style
	settings Settings
	columns  string // names and units as read
	start    string // RFC 3339; empty for none
	origin   float64
	notes    []string
	missing  []int // rows that must be left out
}

// standardFields are the columns of the plain layout after the time.
func standardFields() []field {
	return []field{
		{role: TrappedA, header: "pressure_a [bar]", unit: "bar", decimals: 3},
		{role: TrappedB, header: "pressure_b [bar]", unit: "bar", decimals: 3},
		{role: Temperature, header: "temperature [degC]", unit: "°C", decimals: 2},
		{role: Ambient, header: "ambient [degC]", unit: "°C", decimals: 1},
	}
}

func germanFields() []field {
	return []field{
		{role: TrappedA, header: "Druck Kreis A [bar]", unit: "bar", decimals: 3},
		{role: TrappedB, header: "Druck Kreis B [bar]", unit: "bar", decimals: 3},
		{role: Temperature, header: "Öltemperatur [°C]", unit: "°C", decimals: 2},
		{role: Ambient, header: "Raumtemperatur [°C]", unit: "°C", decimals: 1},
	}
}

func with(first field, rest ...field) []field { return append([]field{first}, rest...) }

const utcNote = "stamps name no time zone: taken as UTC"

// layoutRows are the invented loggers.
func layoutRows() []layoutRow {
	return append(numberLayouts(), stampLayouts()...)
}

// numberLayouts have plain numbers for times.
func numberLayouts() []layoutRow {
	all := "trapped_a[bar] trapped_b[bar] temperature[°C] ambient[°C]"
	return []layoutRow{
		{
			file:    "plain.csv",
			style:   style{fields: with(timeField("time [s]", secondsText), standardFields()...)},
			columns: all,
		}, {
			file: "single-circuit.csv",
			style: style{lineEnd: "\r\n", fields: with(timeField("time [s]", secondsText),
				standardFields()[0], standardFields()[2], standardFields()[3])},
			columns: "trapped_a[bar] temperature[°C] ambient[°C]",
		}, {
			file: "german.csv",
			style: style{delimiter: ";", comma: true, lineEnd: "\r\n", coding: "utf-8 with mark",
				fields: with(timeField("Zeit [s]", numberOf(time.Second, 1, ",")), germanFields()...)},
			columns: all,
		}, {
			file: "utf-16.txt",
			style: style{delimiter: "\t", lineEnd: "\r\n", coding: "utf-16le with mark",
				fields: with(timeField("Zeit (s)", secondsText), germanFields()...)},
			columns: all,
		}, {
			file: "utf-16-unmarked.csv",
			style: style{delimiter: ";", coding: "utf-16be", fields: []field{
				timeField("Время", secondsText), // named in the settings
				{role: TrappedA, header: "Давление [bar]", unit: "bar", decimals: 3},
			}},
			settings: Settings{Columns: [Roles]Column{Time: {Name: "время", Unit: "s"}, TrappedA: {Name: "Давление"}}},
			columns:  "trapped_a[bar]",
		}, {
			file: "units-row.csv",
			style: style{before: "Station 4;release check\n\nElapsed;Trapped;Feed;Oil temp;Room temp\n",
				delimiter: ";", fields: []field{
					timeField("ms", numberOf(time.Millisecond, 0, ".")),
					{role: TrappedA, header: "kPa", unit: "kPa", decimals: 1},
					{role: Feed, header: "kPa", unit: "kPa", decimals: 1},
					{role: Temperature, header: "°C", unit: "°C", decimals: 2},
					{role: Ambient, header: "°C", unit: "°C", decimals: 1},
				}},
			columns: "trapped_a[kPa] feed[kPa] temperature[°C] ambient[°C]",
			notes:   []string{"2 lines before the header in line 3", "units from line 4"},
		}, {
			file: "french-minutes.csv",
			style: style{delimiter: ";", comma: true, coding: "windows-1252", fields: []field{
				timeField("Temps (min)", numberOf(time.Minute, 12, ",")),
				{role: TrappedA, header: "Pression piégée (MPa)", unit: "MPa", decimals: 4},
				{role: Temperature, header: "Température huile (°C)", unit: "°C", decimals: 2},
				{role: Ambient, header: "Température ambiante (°C)", unit: "°C", decimals: 1},
			}},
			columns: "trapped_a[MPa] temperature[°C] ambient[°C]",
		}, {
			file: "spanish-bare-returns.csv",
			style: style{lineEnd: "\r", fields: []field{
				timeField("Tiempo / s", secondsText),
				{role: TrappedA, header: "Presión A / bar", unit: "bar", decimals: 3},
				{role: TrappedB, header: "Presión B / bar", unit: "bar", decimals: 3},
			}},
			columns: "trapped_a[bar] trapped_b[bar]",
		}, {
			file: "gaps.csv",
			style: style{fields: []field{
				timeField("time [s]", secondsText),
				{role: TrappedA, header: "pressure [bar]", unit: "bar", decimals: 3, gap: gapWords("OL", "----", "NaN", "#N/A", "", "9.91E37")},
				{role: Temperature, header: "temp [°C]", unit: "°C", decimals: 2, gap: gapWords("", "open", "-OL", "n/a", "***", "bad")},
			}},
			columns: "trapped_a[bar] temperature[°C]",
			notes:   []string{`column "pressure [bar]": 6 rows without a reading`, `column "temp [°C]": 6 rows without a reading`},
		}, {
			file: "absolute.csv",
			style: style{fields: []field{
				timeField("t_s", secondsText),
				{role: TrappedA, header: "p_a [bar(a)]", unit: "bar(a)", decimals: 5},
				{role: Feed, header: "p_feed [bar(a)]", unit: "bar(a)", decimals: 5},
			}},
			columns: "trapped_a[bar] feed[bar]",
			notes: []string{
				`column "p_a [bar(a)]" is absolute pressure: 1.01325 bar taken off (the standard atmosphere; say --ambient-pressure if it is known)`,
				`column "p_feed [bar(a)]" is absolute pressure: 1.01325 bar taken off (the standard atmosphere; say --ambient-pressure if it is known)`,
			},
		}, {
			file: "slow-temperature.csv",
			style: style{fields: []field{
				timeField("elapsed s", secondsText),
				{role: TrappedA, header: "trapped bar", unit: "bar", decimals: 3},
				{role: Temperature, header: "temperature °C", unit: "°C", decimals: 2, gap: func(i int) string {
					if i%10 == 0 {
						return "-"
					}
					return "~"
				}},
			}},
			columns: "trapped_a[bar] temperature[°C]",
			notes:   []string{`column "temperature °C" has a reading in every 10th row: it keeps its own pace`},
		}, {
			file: "scientific.txt",
			style: style{delimiter: "\t", fields: []field{
				useless("Index", "%d"),
				timeField("Time (s)", func(_ int, at time.Duration) string { return exponential(at.Seconds()) }),
				{role: TrappedA, header: "Pressure 1 (psi)", unit: "psi", decimals: 9, exponent: true},
				{role: Temperature, header: "Thermocouple 1 (degF)", unit: "°F", decimals: 9, exponent: true},
				useless("Comment", "valve closed"),
			}},
			columns: "trapped_a[psi] temperature[°F]",
			notes:   []string{`columns not used: "Index", "Comment"`},
		}, {
			file: "no-header.csv",
			style: style{noHeader: true, fields: []field{
				timeField("", secondsText),
				{role: TrappedA, unit: "bar", decimals: 3},
				{role: TrappedB, unit: "bar", decimals: 3},
			}},
			settings: Settings{Columns: [Roles]Column{Time: {Number: 1, Unit: "s"}, TrappedA: {Number: 2, Unit: "bar"}, TrappedB: {Number: 3, Unit: "bar"}}},
			columns:  "trapped_a[bar] trapped_b[bar]",
		}, {
			file: "two-pressures.csv",
			style: style{fields: []field{
				timeField("t", secondsText),
				{role: TrappedA, header: "P1", unit: "psi", decimals: 6},
				{role: Feed, header: "P2", unit: "psi", decimals: 6},
				useless("State", "locked"),
			}},
			settings: Settings{Columns: [Roles]Column{TrappedA: {Name: "P1", Unit: "psi"}, Feed: {Name: "P2", Unit: "psi"}}},
			columns:  "trapped_a[psi] feed[psi]",
			notes:    []string{"the time has no unit: taken as seconds", `columns not used: "State"`},
		}, {
			file: "backwards.csv",
			style: style{fields: with(timeField("time [s]", secondsText), standardFields()...),
				order: swapped(60, [2]int{20, 21}, [2]int{40, 41})},
			columns: all,
			notes: []string{
				"line 23: time runs backwards by 0.1 s: row left out",
				"line 43: time runs backwards by 0.1 s: row left out",
			},
			missing: []int{20, 40},
		}, {
			file: "epoch.csv",
			style: style{fields: with(timeField("timestamp [s]", func(_ int, at time.Duration) string {
				return numberOf(time.Second, 1, ".")(0, at+1772625600*time.Second)
			}), standardFields()[0])},
			columns: "trapped_a[bar]",
			start:   "2026-03-04T12:00:00Z",
			origin:  1772625600,
			notes:   []string{"the file's time is 1772625600 s at its first row, which is 0 s here"},
		},
	}
}

// exponential writes a number as 1.000000E+00.
func exponential(x float64) string {
	return style{}.figure(nil, field{role: Feed, unit: "bar", decimals: 6, exponent: true}, x)
}

// gapWords puts the words, one in each tenth row; "-" means a reading.
func gapWords(words ...string) func(i int) string {
	return func(i int) string {
		if i%10 == 5 {
			return "~" + words[i/10]
		}
		return "-"
	}
}

// stampLayouts have times of a clock.
func stampLayouts() []layoutRow {
	all := "trapped_a[bar] trapped_b[bar] temperature[°C] ambient[°C]"
	return []layoutRow{
		{
			file: "one-second-stamps.csv",
			style: style{delimiter: ";", comma: true, lineEnd: "\r\n", coding: "windows-1252",
				before: "Prüfstand;Halle 3\nBediener;\nKanäle;4\n\n",
				fields: with(timeField("Datum Uhrzeit", stampFrom("2026-03-14 12:00:00", "02.01.2006 15:04:05")), germanFields()...)},
			columns: all, start: "2026-03-14T12:00:00Z", origin: 43200,
			notes: []string{"4 lines before the header in line 5", "dates with dots: day.month.year",
				"stamps of one second at 10 Hz spread evenly within their second", utcNote},
		}, {
			file: "us-psi.csv",
			style: style{quoted: true, lineEnd: "\r\n", fields: []field{
				timeField("Timestamp", stampFrom("2026-03-14 12:59:58", "01/02/2006 03:04:05.0 PM")),
				{role: TrappedA, header: "Pressure A (psi)", unit: "psi", decimals: 6},
				{role: TrappedB, header: "Pressure B (psi)", unit: "psi", decimals: 6},
				{role: Feed, header: "Supply Pressure (psi)", unit: "psi", decimals: 6},
				{role: Temperature, header: "Fluid Temp (°F)", unit: "°F", decimals: 5},
			}},
			columns: "trapped_a[psi] trapped_b[psi] feed[psi] temperature[°F]", start: "2026-03-14T12:59:58Z", origin: 46798,
			notes: []string{"dates are month, day, year: the file has some that can be read in no other order", utcNote},
		}, {
			file: "iso-8601.csv",
			style: style{fields: []field{
				timeField("timestamp", func(i int, at time.Duration) string {
					return stampFrom("2026-03-04 12:00:00", "2006-01-02T15:04:05.000")(i, at) + "+01:00"
				}),
				{role: TrappedA, header: "pressure_a_kPa", unit: "kPa", decimals: 1},
				{role: TrappedB, header: "pressure_b_kPa", unit: "kPa", decimals: 1},
				{role: Temperature, header: "temp_C", unit: "°C", decimals: 2},
			}},
			columns: "trapped_a[kPa] trapped_b[kPa] temperature[°C]", start: "2026-03-04T11:00:00Z", origin: 39600,
		}, {
			file: "date-and-time.csv",
			style: style{delimiter: "\t", fields: []field{
				{role: Date, header: "Date", text: stampFrom("2026-03-14 23:59:58", "2006/01/02")},
				timeField("Time", stampFrom("2026-03-14 23:59:58", "15:04:05.0")),
				{role: TrappedA, header: "Pressure (MPa)", unit: "MPa", decimals: 4},
				{role: Temperature, header: "Temperature (K)", unit: "K", decimals: 2},
			}},
			columns: "trapped_a[MPa] temperature[K]", start: "2026-03-14T23:59:58Z", origin: 86398,
			notes: []string{utcNote},
		}, {
			file: "past-midnight.csv",
			style: style{delimiter: ";", comma: true, fields: with(
				timeField("Uhrzeit", stampFrom("2026-03-14 23:59:57", "15:04:05,000")), germanFields()[:2]...)},
			columns: "trapped_a[bar] trapped_b[bar]", origin: 86397,
			notes: []string{"line 32: midnight", "the file's time is 86397 s at its first row, which is 0 s here"},
		}, {
			file: "repeated-header.csv",
			style: style{
				before: "Line end B, hold\nInterval,0.1 s\n", after: "\nSummary\nMaximum,100.412,99.871\nMinimum,100.2,99.8\n",
				between: func(i int) string {
					if i == 20 || i == 40 {
						return style{delimiter: ",", fields: repeatedFields()}.header() + "\n"
					}
					return ""
				},
				fields: repeatedFields()},
			columns: "trapped_a[bar] trapped_b[bar]", start: "2026-03-04T12:00:00Z", origin: 43200,
			notes: []string{"2 lines before the header in line 3", "2 repeated header lines skipped",
				"3 lines after the last reading left out, from line 67"},
		}, {
			file: "clock-back.csv",
			style: style{delimiter: ";", fields: with(timeField("Zeitstempel", func(i int, at time.Duration) string {
				start := "2026-10-25 02:59:57"
				if i >= 30 {
					start = "2026-10-25 01:59:57"
				}
				return stampFrom(start, "02.01.2006 15:04:05.0")(i, at)
			}), standardFields()...)},
			columns: all, start: "2026-10-25T02:59:57Z", origin: 10797,
			notes: []string{"dates with dots: day.month.year", "line 32: the clock jumps back by 3600 s: treated as a clock change", utcNote},
		}, {
			file: "clock-forward.csv",
			style: style{fields: with(timeField("DateTime", func(i int, at time.Duration) string {
				start := "2026-03-29 01:59:57"
				if i >= 30 {
					start = "2026-03-29 02:59:57"
				}
				return stampFrom(start, "2006-01-02 15:04:05")(i, at)
			}), standardFields()...)},
			columns: all, start: "2026-03-29T01:59:57Z", origin: 7197,
			notes: []string{"line 32: the clock jumps forward by 3600 s: treated as a clock change",
				"stamps of one second at 10 Hz spread evenly within their second", utcNote},
		}, {
			file: "month-names.csv",
			style: style{fields: with(timeField("Time", stampFrom("2026-03-04 12:00:00", "02-Jan-2006 15:04:05.0")),
				standardFields()[0])},
			settings: Settings{Zone: "+02:00"},
			columns:  "trapped_a[bar]", start: "2026-03-04T12:00:00+02:00", origin: 43200,
		},
	}
}

func repeatedFields() []field {
	return []field{
		timeField("Time", stampFrom("2026-03-04 12:00:00", "2006-01-02 15:04:05.0Z")),
		{role: TrappedA, header: strings.ToUpper("Druck a in bar"), unit: "bar", decimals: 3},
		{role: TrappedB, header: strings.ToUpper("Druck b in bar"), unit: "bar", decimals: 3},
	}
}
