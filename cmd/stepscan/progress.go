package main

import (
	"fmt"
	"io"
	"sync"
	"time"

	"github.com/rs/zerolog"
)

// progress is one line that says what the program is at while a file takes
// long. It is for a person at a terminal; a nil one says nothing.
type progress struct {
	w  io.Writer
	mu sync.Mutex
	// guarded by mu
	at, shown string
}

// every is how often the line is looked at. Files that are done before the first
// time never show it.
const every = 300 * time.Millisecond

// follow shows progress of one file on stderr, if that is a terminal and nobody
// asked for quiet or for the log, which would mix with it. stop takes the line
// away; it may be called twice.
func (s *shared) follow(e env) (p *progress, stop func()) {
	if s.quiet || s.log.GetLevel() < zerolog.WarnLevel || !terminal(e.stderr) {
		return nil, func() {}
	}
	p = &progress{w: e.stderr}
	done, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		t := time.NewTicker(every)
		defer t.Stop()
		for {
			select {
			case <-t.C:
				p.show()
			case <-done:
				return
			}
		}
	}()
	return p, sync.OnceFunc(func() {
		close(done)
		<-ended
		p.clear()
	})
}

// say notes what the program is at, in a few words of our own.
func (p *progress) say(format string, args ...any) {
	if p == nil {
		return
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.at = fmt.Sprintf(format, args...)
}

// meshed notes how many bodies are meshed.
func (p *progress) meshed(n, of int) { p.say("meshing: %d of %d bodies", n, of) }

// eraseLine goes to the line's start and empties it (ECMA-48, CR and EL).
const eraseLine = "\r\x1b[K"

// show writes the line if it has changed.
func (p *progress) show() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.at != p.shown {
		fmt.Fprint(p.w, eraseLine, p.at)
		p.shown = p.at
	}
}

// clear takes the line away if one was shown.
func (p *progress) clear() {
	p.mu.Lock()
	defer p.mu.Unlock()
	if p.shown != "" {
		fmt.Fprint(p.w, eraseLine)
		p.shown = ""
	}
}
