// Package synth renders a list of a typewriter's sounds as a recording. It is
// for the demo and for tests: it shares no code with what listens to
// recordings, so that a right answer means something.
//
// In go [Sound] values (what sounds, when, how hard) and two drawings of
// chance: a [Palette] (how this machine sounds) and a [Recording] (room,
// microphone, noise, what the recorder did). Out come samples with full scale
// at 1. Start with [NewPalette], [Plain] and [Render]; [RenderTo] streams.
//
// Times are seconds from the start of the recording and are the arrival of a
// sound's first energy at the microphone: without noise, every sample before
// [Sound].Time is exactly as if the sound were not there, and the waveform is
// placed between samples, not rounded to one. Only Recording.Delay moves it.
// Levels are dB; those of a recording are relative to full scale (peak 1).
//
// Nothing here is measured from a product: modes, bursts and impacts are drawn
// from wide ranges, so that no two machines sound alike and no listener can be
// fitted to one shape.
package synth
