package result

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A certificate may be later than the test, as one applied afterwards is: it is
// said.
func TestCertificateThatIsLaterThanTheTestIsSaid(t *testing.T) {
	run := certified(t, "2027-02-03")
	took := []Instrument{{Channel: "body"}}
	assert.Empty(t, postdated(run, took))
	_, err := run.Bench.Recalibrate("new.toml", []byte("[[calibration]]\nchannel = \"body\"\ncertificate = \"C-2\"\ndate = 2027-01-05\ndue = 2028-01-05\nuncertainty = \"0.1 K\"\n"))
	require.NoError(t, err)
	assert.Equal(t, []string{"certificate C-2 of body, of 2027-01-05, is later than the test"}, postdated(run, took))
	assert.Empty(t, postdated(run, nil), "it took no part")
}
