package main

import (
	"sync"
	"sync/atomic"

	"holdbench/daq"
	"holdbench/daq/sequence"
)

// queued shows on a panel, in order and on a goroutine of its own, what it is
// given. A screen that stands still (a terminal that was paused, text that is
// being selected in its window) so holds up no test, no abort and no pump's end.
type queued struct {
	panel sequence.Panel

	mu      sync.Mutex
	waiting []func()
	status  bool // the last that waits is a status; a newer one takes its place
	over    bool

	wake, done chan struct{}
	panicked   atomic.Pointer[daq.PanicError]
}

var _ sequence.Panel = (*queued)(nil)

// newQueued returns a queue before a panel. It must be closed.
func newQueued(p sequence.Panel) *queued {
	q := &queued{panel: p, wake: make(chan struct{}, 1), done: make(chan struct{})}
	go q.run()
	return q
}

func (q *queued) Prompt(p sequence.Prompt) { q.add(false, func() { q.panel.Prompt(p) }) }
func (q *queued) Message(text string)      { q.add(false, func() { q.panel.Message(text) }) }
func (q *queued) Status(s sequence.Status) { q.add(true, func() { q.panel.Status(s) }) }

// add takes what is to be shown. A panic of the panel comes out here, so that
// it ends the run.
func (q *queued) add(status bool, show func()) {
	q.repanic()
	q.mu.Lock()
	switch last := len(q.waiting) - 1; {
	case q.over:
	case status && q.status && last >= 0:
		q.waiting[last] = show
	default:
		q.waiting = append(q.waiting, show)
	}
	q.status = status
	q.mu.Unlock()
	select {
	case q.wake <- struct{}{}:
	default:
	}
}

func (q *queued) repanic() {
	if p := q.panicked.Load(); p != nil {
		panic(p)
	}
}

func (q *queued) run() {
	defer close(q.done)
	for range q.wake {
		q.mu.Lock()
		waiting, over := q.waiting, q.over
		q.waiting = nil
		q.mu.Unlock()
		for _, show := range waiting {
			if p := daq.Guard(show); p != nil {
				q.panicked.Store(p)
				return
			}
		}
		if over {
			return
		}
	}
}

// close waits until all is shown; what comes after it is not shown.
func (q *queued) close() {
	q.mu.Lock()
	q.over = true
	q.mu.Unlock()
	select {
	case q.wake <- struct{}{}:
	default:
	}
	<-q.done
	q.repanic()
}
