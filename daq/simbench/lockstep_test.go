package simbench

import (
	"context"
	"fmt"
	"os"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var morning = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

// sleepEvery starts goroutines that join in the order of the intervals, sleep
// in steps of them until `until`, and note each waking.
func sleepEvery(t *testing.T, c *LockStep, until time.Duration, intervals ...time.Duration) []string {
	t.Helper()
	var log []string // no lock: the clock lets one run at a time
	var done sync.WaitGroup
	leaveAll := c.Join() // hold the clock until all have joined
	for i, every := range intervals {
		joined := make(chan struct{})
		done.Add(1)
		go func() {
			defer done.Done()
			leave := c.Join()
			defer leave()
			close(joined)
			for at := every; at <= until; at += every {
				if !assert.NoError(t, c.Sleep(context.Background(), at)) {
					return
				}
				log = append(log, fmt.Sprintf("%d@%v", i, c.Now()))
			}
		}()
		<-joined
	}
	leaveAll()
	done.Wait()
	return log
}

func TestLockStepWakesOneAtATimeInOrder(t *testing.T) {
	// Ties go to the one that has slept longest: at 6 s the second has slept
	// since 3 s, the first since 4 s.
	got := sleepEvery(t, NewLockStep(morning), 6*time.Second, 2*time.Second, 3*time.Second)
	assert.Equal(t, []string{"0@2s", "1@3s", "0@4s", "1@6s", "0@6s"}, got)
}

func TestLockStepIsTheSameEachTime(t *testing.T) {
	intervals := []time.Duration{7, 11, 13, 2, 17, 5}
	first := sleepEvery(t, NewLockStep(morning), 2000, intervals...)
	for range 5 {
		assert.Equal(t, first, sleepEvery(t, NewLockStep(morning), 2000, intervals...))
	}
}

func TestLockStepRunsAThousandTimesFaster(t *testing.T) {
	began := time.Now()
	log := sleepEvery(t, NewLockStep(morning), time.Hour, time.Second, time.Second)
	require.Len(t, log, 7200)
	assert.Less(t, time.Since(began), time.Hour/1000)
}

func TestLockStepDate(t *testing.T) {
	c := NewLockStep(morning)
	assert.Equal(t, morning.Add(90*time.Second), c.Date(90*time.Second))
	assert.Equal(t, "lock-step", c.Kind())
	assert.Zero(t, c.Now())
}

func TestLockStepSleepEndsWithItsContext(t *testing.T) {
	c := NewLockStep(morning)
	busy := c.Join() // keeps the clock still
	defer busy()
	ctx, cancel := context.WithCancel(context.Background())
	got := make(chan error)
	go func() {
		leave := c.Join()
		defer leave()
		got <- c.Sleep(ctx, time.Second)
	}()
	select {
	case err := <-got:
		t.Fatalf("slept through while another goroutine is awake: %v", err)
	case <-time.After(20 * time.Millisecond):
	}
	cancel()
	require.ErrorIs(t, <-got, context.Canceled)
	assert.Zero(t, c.Now())
	assert.ErrorIs(t, c.Sleep(ctx, time.Second), context.Canceled)
}

func TestLockStepSleepInThePastReturnsAtOnce(t *testing.T) {
	c := NewLockStep(morning)
	require.NoError(t, c.Sleep(context.Background(), time.Second)) // not joined: still woken
	require.NoError(t, c.Sleep(context.Background(), time.Second))
	assert.Equal(t, time.Second, c.Now())
}

func TestLockStepJoinMayBeHandedOver(t *testing.T) {
	c := NewLockStep(morning)
	hand := make(chan func(), 1)
	hand <- c.Join() // for the goroutine below, which is slow to begin
	var order []string
	done := make(chan struct{})
	go func() {
		defer close(done)
		time.Sleep(20 * time.Millisecond)
		leave := <-hand
		assert.NoError(t, c.Sleep(context.Background(), time.Second))
		order = append(order, "handed")
		leave()
		leave() // does nothing more
	}()
	leave := c.Join()
	require.NoError(t, c.Sleep(context.Background(), 2*time.Second))
	order = append(order, "own")
	leave()
	<-done
	assert.Equal(t, []string{"handed", "own"}, order)
	assert.Zero(t, c.joined)
}

func TestLockStepFollowersDoNotDrive(t *testing.T) {
	c := NewLockStep(morning)
	sleep, leave := c.follow()
	var log []string // no lock: the clock lets one run at a time
	ctx, cancel := context.WithCancel(context.Background())
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		defer leave()
		for at := time.Second; sleep(ctx, at) == nil; at += time.Second {
			log = append(log, fmt.Sprint("follower ", c.Now()))
		}
	}()
	time.Sleep(20 * time.Millisecond)
	assert.Zero(t, c.Now(), "nobody joined: time stands")

	func() {
		defer c.Join()()
		for at := 1500 * time.Millisecond; at <= 3*time.Second; at += 1500 * time.Millisecond {
			require.NoError(t, c.Sleep(context.Background(), at))
			log = append(log, fmt.Sprint("driver ", c.Now()))
		}
	}()
	cancel()
	<-ended
	// At 3 s the driver has slept longer.
	assert.Equal(t, []string{"follower 1s", "driver 1.5s", "follower 2s", "driver 3s"}, log)
}

func TestLockStepWaitsForBytesInFlight(t *testing.T) {
	c := NewLockStep(morning)
	r, w, err := os.Pipe()
	require.NoError(t, err)
	defer r.Close()
	sleep, leave := c.follow()
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	go func() {
		defer w.Close()
		defer leave()
		for at := time.Second; sleep(ctx, at) == nil; at += time.Second {
			c.Sent("thermometer", 1)
			if _, err := w.Write([]byte{'x'}); err != nil {
				return
			}
		}
	}()
	var stamps []time.Duration
	read := make(chan struct{})
	go func() {
		defer close(read)
		taken := c.Taken("thermometer")
		var b [1]byte
		for {
			if n, err := r.Read(b[:]); n == 0 || err != nil {
				return
			}
			time.Sleep(time.Millisecond) // a slow reader must not miss its time
			stamps = append(stamps, c.Now())
			taken(1)
		}
	}()
	func() {
		defer c.Join()()
		require.NoError(t, c.Sleep(ctx, 5500*time.Millisecond))
	}()
	cancel()
	<-read
	assert.Equal(t, []time.Duration{1e9, 2e9, 3e9, 4e9, 5e9}, stamps)
}

func TestLockStepWritesOffBytesThatNobodyReads(t *testing.T) {
	c := NewLockStep(morning)
	c.Sent("thermometer", 40)
	began := time.Now()
	require.NoError(t, c.Sleep(context.Background(), time.Second))
	assert.GreaterOrEqual(t, time.Since(began), writeOff)
	c.Sent("thermometer", 40)
	require.NoError(t, c.Sleep(context.Background(), 2*time.Second))
	assert.Less(t, time.Since(began), 2*writeOff, "the second time it knows")
	c.Taken("thermometer")(80) // comes late: must not be counted against later bytes
	assert.Zero(t, c.inFlight)
}

func BenchmarkLockStepSleep(b *testing.B) {
	c := NewLockStep(morning)
	defer c.Join()()
	for i := range b.N {
		_ = c.Sleep(context.Background(), time.Duration(i+1))
	}
}
