package report

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/png"
	"math"
)

// encodePNG encodes img with a pHYs chunk that tells viewers and printers its
// density in dots per inch (PNG specification, third edition, section 11.3.4.3:
// pixels per metre on each axis, unit 1). Go's encoder writes none.
func encodePNG(img image.Image, dpi int) ([]byte, error) {
	var b bytes.Buffer
	if err := png.Encode(&b, img); err != nil {
		return nil, err
	}
	const metresPerInch = 0.0254
	perMetre := uint32(math.Round(float64(dpi) / metresPerInch))

	chunk := binary.BigEndian.AppendUint32(nil, 9)
	chunk = append(chunk, "pHYs"...)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1)
	chunk = binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))

	// pHYs has to stand before the image data; right after the header is safe.
	const afterHeader = 8 + 4 + 4 + 13 + 4
	raw := b.Bytes()
	if len(raw) < afterHeader || string(raw[12:16]) != "IHDR" {
		return nil, errors.New("the PNG encoder wrote no header")
	}
	out := make([]byte, 0, len(raw)+len(chunk))
	out = append(out, raw[:afterHeader]...)
	out = append(out, chunk...)
	return append(out, raw[afterHeader:]...), nil
}
