//go:build unix

package link

import (
	"fmt"
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

func TestLockFilesOfOtherPrograms(t *testing.T) {
	dir := t.TempDir()
	running := os.Getppid()
	for name, text := range map[string]string{
		"ttyS0": fmt.Sprintf("%10d\n", running),
		"ttyS1": fmt.Sprintf("%10d\n", os.Getpid()),
		"ttyS2": "         0\n", "ttyS3": "        -1\n", "ttyS4": "somebody\n", "ttyS5": "",
		"ttyS6": "4194305000\n", // above what any system gives
	} {
		require.NoError(t, os.WriteFile(lockFile(dir, "/dev/"+name), []byte(text), 0o600))
	}
	assert.Equal(t, running, heldBy(dir, "/dev/ttyS0"))
	for _, free := range []string{"ttyS1", "ttyS2", "ttyS3", "ttyS4", "ttyS5", "ttyS6", "ttyS7"} {
		assert.Zero(t, heldBy(dir, "/dev/"+free), free)
	}
	err := explain("/dev/ttyS0", fmt.Errorf("%w by the program with the process number 7", ErrBusy))
	assert.EqualError(t, err, "the port is in use by the program with the process number 7")
}
