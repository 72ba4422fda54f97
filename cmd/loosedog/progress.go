package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// How the progress bar behaves.
const (
	barAfter = 2 * time.Second        // shorter work shows none
	barEvery = 100 * time.Millisecond // between two drawings
	barWidth = 30                     // in characters
)

// progress draws a bar on a terminal while a take is being worked on. Each
// phase covers its share of the whole; a phase whose length is not known shows
// a bar that stands.
type progress struct {
	w io.Writer // nil: draw nothing
	// tell, when not nil, is told of every step: the phase's name and the share of
	// the whole, 0 to 1.
	tell       func(name string, share float64)
	now        func() time.Time
	start      time.Time
	last       time.Time
	shown      bool
	name       string
	from, span float64
}

// newProgress draws on w when it is a terminal, else nowhere.
func newProgress(w io.Writer, quiet bool) *progress {
	p := &progress{now: time.Now}
	if !quiet && isTerminal(w) {
		p.w = w
	}
	p.start = p.now()
	return p
}

// phase begins a part of the work that fills the bar up to the share upTo of
// the whole (0 to 1), and returns the function that tells how far it is.
// Total below 1 means not known.
func (p *progress) phase(name string, upTo float64) func(done, total int64) {
	p.name = name
	p.from += p.span
	p.span = upTo - p.from
	return func(done, total int64) {
		part := 0.0
		if total > 0 {
			part = min(max(float64(done)/float64(total), 0), 1)
		}
		p.draw(p.from + part*p.span)
	}
}

func (p *progress) draw(share float64) {
	if p.tell != nil {
		p.tell(p.name, share)
	}
	if p.w == nil {
		return
	}
	now := p.now()
	if now.Sub(p.start) < barAfter || now.Sub(p.last) < barEvery {
		return
	}
	p.last, p.shown = now, true
	full := min(int(share*barWidth), barWidth)
	fmt.Fprintf(p.w, "\r%-10s [%s%s] %3.0f %%", p.name,
		strings.Repeat("#", full), strings.Repeat("-", barWidth-full), 100*share)
}

// wipe takes the bar away.
func (p *progress) wipe() {
	if p.shown {
		fmt.Fprintf(p.w, "\r%s\r", strings.Repeat(" ", 10+2+barWidth+2+6))
		p.shown = false
	}
}
