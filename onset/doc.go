// Package onset finds the sounds of a typewriter's mechanism in a take and says
// what each is.
//
// In goes one channel of samples ([Source], full scale 1) and what the survey of
// the take found; out comes a [Take]: strokes in order with the times of trip,
// strike, release and landing, lines with their bells and carriage returns, and
// what the take taught about its own sounds ([Learnt]). Times are seconds from
// the start of the file, levels dB relative to full scale. [Detect] is the way
// in.
//
// # How it hears
//
// One pass over the samples leaves candidates: sudden rises of sound in any of
// up to four bands, placed to the sample, each with the level of every band, how
// it begins and how it fades (bands.go, candidate.go, pick.go). A coarse picture
// of the take in 10 ms frames and its clearest tones are kept beside them
// (tone.go). All later work is on these; memory grows with the typing, not with
// the samples.
//
// Then the take teaches (nothing is fixed in advance but what no machine can
// do): which sounds are strikes (strikes.go), where lines end (lines.go), and a
// few guesses at which sounds are the carriage's, from the lags that repeat most
// sharply (guess.go). Under each guess whole lines are decoded as sequences of
// strokes that own their sounds, each space with one landing, and the families
// of sounds and their delays are fitted to what was decoded, in turn (family.go,
// decode.go, learn.go; the space bar in spaces.go). The guess under which the
// take is likeliest is taken, steadiness of travel deciding between near equals.
//
// What is left is told from the outcome: trips (trips.go), what sounds like a stroke
// and moves nothing (idle.go), line ends without a return (join.go), strokes that share a
// release and missed spaces (assemble.go; releases that no landing follows in
// unlanded.go), half moves after the trip (halfmoves.go), and whether the take can be
// measured at all: whether its strikes are any (gate.go), and what its carriage proves
// (verdict.go).
package onset
