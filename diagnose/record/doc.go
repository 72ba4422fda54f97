// Package record keeps the record of machines over months: a folder a machine, and
// a shelf of such folders.
//
// In: a machine's folder as its owner keeps it. NAME.wav (or another sound file) is
// a take, NAME.json beside it what was measured of it, machine.toml what the owner
// knows of the machine, log.txt what was done to it. Out: a [Shelf], one row a
// machine and which of them needs attention first, or a [History], each measure of
// one machine over its takes with the changes that stand out from noise.
//
// There is no other store. What the shelf needs of a take stands at the head of its
// result ([diagnose.Kept]), so that a second look reads some kilobytes a take. A
// result is written whole or not at all; whatever is missing, torn or stale is
// measured anew, so a run that was cut off goes on where it stopped, and two runs at
// once do no harm beyond measuring some takes twice.
//
// Measuring and writing are handed in ([Work]): this package knows folders, dates
// and statistics, and no sound.
//
// Dates are local time. Times in results are milliseconds.
package record
