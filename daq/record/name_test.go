package record

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

var (
	nameDate = time.Date(2026, 11, 3, 23, 30, 0, 0, time.FixedZone("", 3600))
	plainRun = "0196a5f0-0000-7000-8000-000000000001"
)

func TestFolderNameKeepsWhatIsSafe(t *testing.T) {
	end := "_2026-11-03_" + plainRun
	for serial, want := range map[string]string{
		"HV1-0001":  "HV1-0001",
		"4711":      "4711",
		"A_B.2":     "A_B.2",
		"CONSOLE":   "CONSOLE",
		"COM12":     "COM12",
		"hv1-0001":  "hv1-0001~",
		"CON":       "sn-CON~",
		"NUL.7":     "sn-NUL.7~",
		"COM1":      "sn-COM1~",
		"A/B":       "A-B~",
		`A\B`:       "A-B~",
		"A:B\x00*?": "A-B~",
		"..":        "sn~",
		".A":        "A~",
		"A.":        "A~",
		"A ":        "A~",
		"-rf":       "rf~",
		"":          "sn~e3b0c44298fc",
		"Größe 7":   "Gr--e-7~",
		"A~B":       "A-B~",
		"\xff\xfe":  "sn~",
		"../../etc": "etc~",
	} {
		got := FolderName(serial, nameDate, plainRun)
		if strings.HasSuffix(want, "~") {
			require.Regexp(t, "^"+regexp.QuoteMeta(want)+"[0-9a-f]{12}"+end+"$", got, serial)
		} else {
			require.Equal(t, want+end, got)
		}
	}
	require.Equal(t, FolderName("A/B", nameDate, plainRun), FileStem("A/B", nameDate, plainRun))
}

func TestFolderNameMakesAFolderHere(t *testing.T) {
	for _, serial := range []string{"..", "a/b", "x\x00y", strings.Repeat("Ü", 300), "", " "} {
		dir := t.TempDir()
		require.NoError(t, os.Mkdir(filepath.Join(dir, FolderName(serial, nameDate, plainRun)), 0o777), serial)
		entries, err := os.ReadDir(dir)
		require.NoError(t, err)
		require.Len(t, entries, 1, serial)
	}
}

// validOnWindows follows "Naming Files, Paths, and Namespaces" (Microsoft
// Learn), M: no reserved characters, no control characters, no device names
// with any extension, no dot or space at the end; and, for everybody, no dot
// or dash in front and 255 bytes at most.
func validOnWindows(name string) bool {
	stem, _, _ := strings.Cut(name, ".")
	device := regexp.MustCompile(`(?i)^(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])$`)
	return name != "" && len(name) <= 255 &&
		!strings.ContainsAny(name, `<>:"/\|?*`) && !regexp.MustCompile(`[\x00-\x1f\x7f-\xff]`).MatchString(name) &&
		!device.MatchString(stem) && !strings.HasSuffix(name, ".") && !strings.HasSuffix(name, " ") &&
		!strings.HasPrefix(name, ".") && !strings.HasPrefix(name, "-")
}

// serials draws what a scanner or a joker might enter.
var serials = rapid.OneOf(
	rapid.String(),
	rapid.StringMatching(`[A-Za-z0-9._ -]{0,8}`),
	rapid.StringMatching(`(?i)(con|nul|com1|lpt9|aux)(\.[a-z]{0,2})?`),
	rapid.StringMatching(`[A-Ca-c_.~]{0,4}`),
	rapid.StringMatching(`[A-B]{58,64}`),
	rapid.Map(rapid.SliceOf(rapid.Byte()), func(b []byte) string { return string(b) }),
)

func TestFolderNameIsValidEverywhere(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := FolderName(serials.Draw(t, "serial"), nameDate, serials.Draw(t, "run"))
		require.True(t, validOnWindows(name), "%q", name)
		require.True(t, validOnWindows(name+".pdf"), "%q", name)
		require.True(t, filepath.IsLocal(name), "%q", name)
	})
}

// Two that differ have names that differ, also where case is ignored. Drawn
// from few letters, so that near misses are common.
func TestFolderNameTellsSerialsAndRunsApart(t *testing.T) {
	days := rapid.SampledFrom([]time.Time{nameDate, nameDate.AddDate(0, 0, 1)})
	rapid.Check(t, func(t *rapid.T) {
		s1, s2 := serials.Draw(t, "serial 1"), serials.Draw(t, "serial 2")
		if rapid.Bool().Draw(t, "case only") {
			s2 = strings.ToLower(s1)
		}
		r1, r2 := serials.Draw(t, "run 1"), serials.Draw(t, "run 2")
		if rapid.Bool().Draw(t, "same run") {
			r2 = r1
		}
		d1, d2 := days.Draw(t, "day 1"), days.Draw(t, "day 2")
		if s1 == s2 && r1 == r2 && d1.Equal(d2) {
			return
		}
		n1, n2 := FolderName(s1, d1, r1), FolderName(s2, d2, r2)
		require.False(t, strings.EqualFold(n1, n2), "%q %q", n1, n2)
	})
}

// A serial number that looks like an escaped one is escaped itself.
func TestFolderNameCannotBeForged(t *testing.T) {
	escaped, _, _ := strings.Cut(FolderName("hv1", nameDate, plainRun), "_")
	require.NotEqual(t, FolderName("hv1", nameDate, plainRun), FolderName(escaped, nameDate, plainRun))
	require.NotEqual(t,
		FolderName("A", nameDate, "2026-11-03_"+plainRun),
		FolderName("A_2026-11-03", nameDate, plainRun))
}
