// Package compare tells whether an adjustment helped: takes before it against
// takes after it, on the same machine, whoever typed them and however carefully.
//
// In: measured takes ([diagnose.Take]) of either side. Out: a [Comparison]: what
// the machine's own measures did, each with its shift, interval, test and effect;
// what both machines make of the same typing ([EqualTyping]); how much of the raw
// difference the hand made; whether the takes can be compared at all; and a
// verdict by a stated rule. [AtReference] gives one take's letters per page at a
// fixed hand, so that machines typed by different hands can stand in one list.
//
// # Equal typing
//
// Fewer crowded letters prove nothing when the second page was typed by a hand
// that was being careful. So the takes are taken apart into typing and machine,
// and put together anew. Typing is, line by line, the intervals between strokes
// and the time for which the finger held each key down (the hand's share of the
// latency). A machine is what the take showed of it:
//
//   - lead, from trip to strike;
//   - its own share of the latency, which is what flicked strokes show;
//   - travel at each carriage position;
//   - how many of the flicked strokes made no space, because they were tripped for
//     less than the loose dog needs.
//
// The replay is a small model of its own, from the physics of the package comment
// of diagnose: a stroke trips, its bar lets go after the finger has left and the
// machine's share has passed, the carriage travels, unless another bar still holds
// the escapement tripped. It shares no code with diagnose/mechanism, which is used
// to check it. Chance is shared by both machines: the same stroke draws the same
// quantile of lead, latency, travel and luck on either.
//
// Times are seconds inside, milliseconds in the results.
package compare
