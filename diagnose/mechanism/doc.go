// Package mechanism simulates a manual typewriter event by event, with the
// truth. It is for the demo, for tests and for asking "what if"; it shares no
// code with what listens to recordings.
//
// In go a [Machine] (mass, pull, drag, trip, dogs, faults), a [Hand] (rate,
// rhythm, touch) and a text; out comes a [Performance]: every stroke with its
// trip, strike, release and landing, what became of its space, and where its
// letter stands against the one before it. [Performance.Sounds] gives what
// there is to hear, for package audio/synth to render; [WriteTruth] writes the
// truth. [Conditions] lists machines, hands and rooms for accuracy tables and
// [Take] makes one take of one of them. Start with [Sound], [Calm] and
// [Simulate].
//
// Units are SI: seconds, metres, kilograms, newtons. Nothing that was not there
// is a number: absent times are NaN inside and null in JSON.
//
// # The physics
//
// The universal bar trips the escapement when the type face stands TripDistance
// from the platen: lead = TripDistance / type-bar speed. The bar passes the same
// point on its way back after the finger has left the key (or, on a machine
// that lets go on the bar's rebound, whatever the finger does). There the rocker
// swings back and the carriage of mass m, pulled by F against drag D, moves one
// pitch p from rest: travel = sqrt(2 p m / (F - D)).
//
//   - Tripped for less than DogTime, the loose dog has not sprung across to the
//     next tooth: no space is made.
//   - While one bar holds the universal bar, another cannot trip it again: both
//     strokes share one release when the last of them is back.
//   - A stroke that trips while the carriage still travels does not lengthen or
//     shorten that travel: the tooth on its way is caught by whichever dog stands
//     in the wheel. Where the rocker is back before the tooth has arrived, the
//     model still stops the carriage there and starts the next space from rest,
//     one landing for each space. (A real wheel may run through in that rare
//     case; the model does not follow it.)
//   - A letter struck a time u after the release of a travel T stands at (u/T)^2
//     of a space.
package mechanism
