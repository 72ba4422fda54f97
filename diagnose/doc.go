// Package diagnose says what the sounds of a typewriter mean.
//
// In: the labelled events of a recording ([loosedog/onset.Take], times in
// seconds from the start of the file) and what is known of the recording's
// quality ([loosedog/audio.Quality]). Out: a [Take], ready for JSON: every
// stroke with its times (seconds), what follows from them (milliseconds), how
// its letter stands against the one before it, the whole take in figures, and
// the causes that it gives evidence for.
//
// [Measure] does all of it. [Pairs], [Flagged] and [Worst] look at a measured
// take pair by pair, [TravelProfile] looks at the carriage's travel along the
// line, [HandLatency] takes the machine's share out of every latency.
//
// A number that is not in the sound is unknown ([Number]), never 0.
//
// # What the times mean on the three actions
//
// On a full-space machine the carriage starts on the release. Travel is landing
// minus release; a letter struck u after the release stands (u/travel)^2 of a
// space further on than the one before it.
//
// On a half-space machine half the space is made on the trip and half on the
// release, each from rest, so that each takes sqrt(1/2) = 0.71 of a full
// travel. Release and landing are those of the second half: travel_ms is the
// time of half a space, and a letter struck u after the release is short by
// (1 - (u/travel)^2)/2. A letter struck before the release, or sharing it, has
// the first half of its space already: it is crowded, short by one half. Only
// after a missed space is it piled. The small part of the first half that is
// made between a letter's own trip and its strike is alike for both letters of
// a pair and is left out.
//
// On a down-stroke machine the carriage starts on the trip: travel is landing
// minus trip, latency is unknown (the carriage waits for no release), and
// release_s is the release as it was heard, the rocker swinging back. Where the
// trip was not heard, travel is unknown.
package diagnose
