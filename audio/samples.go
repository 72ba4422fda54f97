package audio

import (
	"encoding/binary"
	"math"
)

// encoding is how one sample is stored, little-endian.
type encoding int

const (
	u8 encoding = iota
	s16
	s24
	s32
	f32
	f64
)

// bytes of one sample.
func (e encoding) bytes() int {
	return [...]int{u8: 1, s16: 2, s24: 3, s32: 4, f32: 4, f64: 8}[e]
}

// encodingOf finds the encoding of samples of so many bits in so many bytes.
func encodingOf(float bool, bits, width int) (encoding, bool) {
	if float {
		switch {
		case bits == 32 && width == 4:
			return f32, true
		case bits == 64 && width == 8:
			return f64, true
		}
		return 0, false
	}
	if bits < 8 || bits > 32 || width < 1 || width > 4 {
		return 0, false
	}
	return [...]encoding{u8, s16, s24, s32}[width-1], true
}

// absurd bounds what is taken for a sample: larger floats are as broken as NaN
// and would spoil sums of squares.
const absurd = 1e30

// decode turns len(dst) stored samples at the start of src into float64 with
// full scale at 1 (see the package comment for the divisors). It returns how
// many float samples were not finite and became 0. len(src) must be at least
// len(dst) times e.bytes().
func decode(dst []float64, src []byte, e encoding) (bad int64) {
	switch e {
	case u8:
		src = src[:len(dst)]
		for i, b := range src {
			dst[i] = float64(int(b)-128) * (1.0 / (1 << 7))
		}
	case s16:
		src = src[:2*len(dst)]
		for i := range dst {
			dst[i] = float64(int16(binary.LittleEndian.Uint16(src[2*i:]))) * (1.0 / (1 << 15))
		}
	case s24:
		// Shifted up by a byte, so the sign comes by itself; four at a time out of
		// three words.
		const full = 1.0 / (1 << 31)
		src = src[:3*len(dst)]
		for len(dst) >= 4 && len(src) >= 12 {
			a := binary.LittleEndian.Uint32(src)
			b := binary.LittleEndian.Uint32(src[4:])
			c := binary.LittleEndian.Uint32(src[8:])
			dst[0] = float64(int32(a<<8)) * full
			dst[1] = float64(int32(a>>24<<8|b<<16)) * full
			dst[2] = float64(int32(b>>16<<8|c<<24)) * full
			dst[3] = float64(int32(c&^0xFF)) * full
			dst, src = dst[4:], src[12:]
		}
		for i := range dst {
			b := src[3*i : 3*i+3 : 3*i+3]
			dst[i] = float64(int32(uint32(b[0])<<8|uint32(b[1])<<16|uint32(b[2])<<24)) * full
		}
	case s32:
		src = src[:4*len(dst)]
		for i := range dst {
			dst[i] = float64(int32(binary.LittleEndian.Uint32(src[4*i:]))) * (1.0 / (1 << 31))
		}
	case f32:
		src = src[:4*len(dst)]
		for i := range dst {
			v := float64(math.Float32frombits(binary.LittleEndian.Uint32(src[4*i:])))
			if !(math.Abs(v) <= absurd) {
				v = 0
				bad++
			}
			dst[i] = v
		}
	case f64:
		src = src[:8*len(dst)]
		for i := range dst {
			v := math.Float64frombits(binary.LittleEndian.Uint64(src[8*i:]))
			if !(math.Abs(v) <= absurd) {
				v = 0
				bad++
			}
			dst[i] = v
		}
	}
	return bad
}

// decodePair is decode of a stereo recording together with mixDown, for the
// encodings that most takes have: one channel of len(dst) frames, or their mean,
// with equal results. It returns false, with nothing done, for other encodings.
func decodePair(dst []float64, src []byte, e encoding, channel int) bool {
	switch {
	case e == s16 && channel == Sum:
		src = src[:4*len(dst)]
		for i := range dst {
			w := binary.LittleEndian.Uint32(src[4*i:])
			dst[i] = float64(int32(int16(w))+int32(w)>>16) * (0.5 / (1 << 15))
		}
	case e == s16:
		src = src[:4*len(dst)]
		for i := range dst {
			w := binary.LittleEndian.Uint32(src[4*i:])
			dst[i] = float64(int16(w>>(16*channel))) * (1.0 / (1 << 15))
		}
	case e == s24:
		// Shifted up by a byte each. The second word begins with the last byte of the
		// left sample.
		const full = 1.0 / (1 << 31)
		src = src[:6*len(dst)]
		for i := range dst {
			b := src[6*i : 6*i+6 : 6*i+6]
			left := int32(binary.LittleEndian.Uint32(b) << 8)
			right := int32(binary.LittleEndian.Uint32(b[2:]) &^ 0xFF)
			switch channel {
			case Sum:
				dst[i] = float64(int64(left)+int64(right)) * (0.5 * full)
			case 0:
				dst[i] = float64(left) * full
			default:
				dst[i] = float64(right) * full
			}
		}
	default:
		return false
	}
	return true
}
