//go:build unix

package link

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"

	"golang.org/x/sys/unix"
)

// lock is an advisory lock on the device itself. The terminal's exclusive
// mode keeps out ordinary users only; this keeps out a privileged second copy
// of this program, and a second opening in this one.
type lock struct{ fd int }

func takeLock(port string) (*lock, error) {
	if holder := heldBy(lockFiles, port); holder != 0 {
		return nil, fmt.Errorf("%w by the program with the process number %d, says %s", ErrBusy, holder, lockFile(lockFiles, port))
	}
	fd, err := unix.Open(port, unix.O_RDONLY|unix.O_NOCTTY|unix.O_NONBLOCK|unix.O_CLOEXEC, 0)
	if err != nil {
		return nil, err
	}
	if err := unix.Flock(fd, unix.LOCK_EX|unix.LOCK_NB); err != nil {
		return nil, errors.Join(err, unix.Close(fd))
	}
	return &lock{fd}, nil
}

// lockFiles is where other programs leave their locks.
const lockFiles = "/var/lock"

// heldBy returns the number of the program that holds the port by a lock file
// LCK..<name> in dir, 0 for none: ten characters of decimal digits and a line
// feed. A program that runs no more, this one, and a file that cannot be read
// hold nothing.
//
// Source: [2].
func heldBy(dir, port string) int {
	text, err := os.ReadFile(lockFile(dir, port))
	if err != nil {
		return 0
	}
	number, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil || number <= 0 || number == os.Getpid() || errors.Is(unix.Kill(number, 0), unix.ESRCH) {
		return 0
	}
	return number
}

func lockFile(dir, port string) string { return filepath.Join(dir, "LCK.."+terminal(port)) }

func (l *lock) release() error { return unix.Close(l.fd) }

// sentinel names what the system's own error numbers mean for a port.
func sentinel(err error) error {
	switch {
	case errors.Is(err, unix.EWOULDBLOCK), errors.Is(err, unix.EBUSY):
		return ErrBusy
	case errors.Is(err, unix.ENXIO), errors.Is(err, unix.ENODEV), errors.Is(err, unix.EIO):
		return ErrNoSuchPort
	}
	return nil
}

// whoMay says in words who may open a port.
func whoMay(port string) string {
	info, err := os.Stat(port)
	if err != nil {
		return "and who may open it cannot be seen: " + err.Error()
	}
	stat, ok := info.Sys().(*syscall.Stat_t)
	if !ok {
		return "the system does not say who may open it"
	}
	return mayOpen(info.Mode().Perm(), groupName(stat.Gid))
}

func mayOpen(mode os.FileMode, group string) string {
	if mode&0o060 != 0o060 {
		return "only its owner may open it"
	}
	return fmt.Sprintf("it belongs to the group %q; join that group (sudo usermod -aG %s $USER) and sign in again", group, group)
}

func groupName(gid uint32) string {
	id := strconv.FormatUint(uint64(gid), 10)
	if g, err := user.LookupGroupId(id); err == nil {
		return g.Name
	}
	return id
}
