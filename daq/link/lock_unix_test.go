//go:build unix

package link

import (
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"
)

// A privileged user is never refused, so the refusal itself is made up here.
func TestPermissionNamesTheGroup(t *testing.T) {
	path := filepath.Join(t.TempDir(), "ttyUSB0")
	require.NoError(t, os.WriteFile(path, nil, 0o660))
	require.NoError(t, os.Chmod(path, 0o660))
	group := groupName(uint32(os.Getgid()))
	err := explain(path, &os.PathError{Op: "open", Path: path, Err: unix.EACCES})
	require.ErrorIs(t, err, ErrPermission)
	assert.EqualError(t, err, `no permission: it belongs to the group "`+group+
		`"; join that group (sudo usermod -aG `+group+` $USER) and sign in again`)
	require.NoError(t, os.Chmod(path, 0o600))
	assert.EqualError(t, explain(path, unix.EACCES), "no permission: only its owner may open it")
}

func TestGroupWithoutAName(t *testing.T) {
	const nobody = 4_000_000_001
	assert.Equal(t, strconv.Itoa(nobody), groupName(nobody))
}

func TestWhatTheSystemSaysOfAPort(t *testing.T) {
	for errno, want := range map[unix.Errno]error{
		unix.EBUSY: ErrBusy, unix.EWOULDBLOCK: ErrBusy, unix.ENXIO: ErrNoSuchPort, unix.ENODEV: ErrNoSuchPort,
		unix.EIO: ErrNoSuchPort, unix.ENOENT: ErrNoSuchPort, unix.EACCES: ErrPermission, unix.EPERM: ErrPermission,
	} {
		assert.ErrorIs(t, explain("x", errno), want, errno.Error())
	}
}
