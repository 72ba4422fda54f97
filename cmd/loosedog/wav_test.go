package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
)

// wavRate is the sample rate of the recordings made here.
const wavRate = 48000

// wavHeader describes a plain 16-byte fmt chunk and what the sizes claim.
type wavHeader struct {
	tag, channels, bits uint16
	rate                uint32
	riffSize, dataSize  uint32
}

// wavBytes is a RIFF file by hand: header as it is told, lies included, then
// the data.
func wavBytes(h wavHeader, data []byte) []byte {
	le := binary.LittleEndian
	frame := uint32(h.channels) * uint32(h.bits) / 8
	b := append([]byte("RIFF"), le.AppendUint32(nil, h.riffSize)...)
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)
	b = le.AppendUint16(b, h.tag)
	b = le.AppendUint16(b, h.channels)
	b = le.AppendUint32(b, h.rate)
	b = le.AppendUint32(b, h.rate*frame)
	b = le.AppendUint16(b, uint16(frame))
	b = le.AppendUint16(b, h.bits)
	b = append(b, "data"...)
	b = le.AppendUint32(b, h.dataSize)
	return append(b, data...)
}

// pcm16 is an honest 16-bit mono file.
func pcm16(samples []float64) []byte {
	data := make([]byte, 0, 2*len(samples))
	for _, s := range samples {
		v := int16(math.Round(min(max(s, -1), 1) * 32767))
		data = binary.LittleEndian.AppendUint16(data, uint16(v))
	}
	n := uint32(len(data))
	return wavBytes(wavHeader{tag: 1, channels: 1, bits: 16, rate: wavRate, riffSize: 36 + n, dataSize: n}, data)
}

// wavOf makes the recording that a script asks for by name.
func wavOf(kind string) ([]byte, error) {
	honest := wavHeader{tag: 1, channels: 1, bits: 16, rate: wavRate, riffSize: 36 + 960, dataSize: 960}
	kb := make([]byte, 960)
	switch kind {
	case "silence": // 5 s of digital silence
		return pcm16(make([]float64, 5*wavRate)), nil
	case "noise": // 5 s of white noise at -20 dB, fixed seed
		r := rand.New(rand.NewPCG(7, 11))
		return pcm16(render(5, func(float64) float64 { return 0.1 * r.NormFloat64() })), nil
	case "sine": // 5 s of 440 Hz at -6 dB
		return pcm16(render(5, func(t float64) float64 { return 0.5 * math.Sin(2*math.Pi*440*t) })), nil
	case "clipped": // a square wave at full scale
		return pcm16(render(5, func(t float64) float64 { return math.Copysign(1, math.Sin(2*math.Pi*97*t)) })), nil
	case "header": // a header and nothing else
		return wavBytes(wavHeader{tag: 1, channels: 1, bits: 16, rate: wavRate, riffSize: 36}, nil), nil
	case "lying": // 4 GiB claimed in a kilobyte
		honest.riffSize, honest.dataSize = 0xFFFFFFF0, 0xFFFFFF00
	case "no-channels":
		honest.channels = 0
	case "no-rate":
		honest.rate = 0
	case "codec": // 0xABCD: no registered format
		honest.tag = 0xABCD
	case "cut-header": // ends within the fmt chunk
		return wavBytes(honest, nil)[:28], nil
	case "riff-only":
		return []byte("RIFF\x00\x00\x00\x00WAVE"), nil
	default:
		return nil, fmt.Errorf("mkwav knows no %q", kind)
	}
	return wavBytes(honest, kb), nil
}

// render samples a signal of so many seconds.
func render(seconds int, at func(t float64) float64) []float64 {
	v := make([]float64, seconds*wavRate)
	for i := range v {
		v[i] = at(float64(i) / wavRate)
	}
	return v
}
