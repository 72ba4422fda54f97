// Package audio brings a recording in and says how good it is.
//
// In goes the path of a file. Out come samples as float64, full scale being 1,
// in blocks ([Open], [OpenMono]), and the quality of the whole take
// ([Survey]). [WriteWAV] writes the project's own takes and clips.
//
// # Formats
//
// WAV is read here: RIFF, RF64 and BW64; integer PCM of 8 to 32 bits, float of
// 32 and 64 bits, WAVE_FORMAT_EXTENSIBLE too; 1 to 8 channels; 8 to 192 kHz.
// Everything else (m4a, mp3, ogg, opus, flac, caf, amr, webm, ...) is decoded
// by ffmpeg when it is installed. What a file is, its content decides, never
// its name.
//
// # Scale
//
// An integer sample of b bits is divided by 2^(b-1): 16-bit -32768 becomes -1
// and 32767 becomes 0.99997. 8-bit samples are unsigned with their zero at 128.
// Widths that do not fill their bytes are left-justified, as the format asks,
// so the divisor is that of the whole container. Float samples pass as they
// are; those that are not finite become 0 and are reported.
//
// # Libraries
//
// github.com/go-audio/wav writes our files and is the witness in the tests: on
// all integer PCM that it can read, both give equal samples. It does not read
// them in the program: on good files it takes 35 to 48 ns for a stereo frame of
// 24 bits where our own reader takes 4 (BenchmarkReadLibrary, BenchmarkRead; a
// take read twice at 500 times real time leaves 20 for everything), and on
// others it gives wrong samples without an error or allocates what a header
// asks for.
//
// # Limits
//
// Nothing is allocated by what a header says: memory is bounded by one block,
// and [Survey] keeps about one byte for each channel and 10 ms on top of a
// fixed amount. A size in a header is believed only as far as the file's bytes
// bear it out.
//
// # Errors
//
// An error for which [ErrUnreadable] holds says that the file is to blame, in
// one line with what to do; any other means that the program or the machine
// failed, or was stopped.
package audio
