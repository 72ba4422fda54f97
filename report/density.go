package report

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"math"
	"sort"
)

// encodePNG encodes img with a pHYs chunk that tells viewers and printers its
// density in dots per inch (PNG specification, third edition, section 11.3.4.3:
// pixels per metre on each axis, unit 1). Go's encoder writes none.
func encodePNG(img image.Image, dpi int) ([]byte, error) {
	var b bytes.Buffer
	if err := png.Encode(&b, fewColours(img)); err != nil {
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

// fewColours brings a drawing down to 256 colours. A drawing has a handful, and
// some thousand shades at the edges of its lines that differ by less than anyone
// sees. The file is a third as long, which matters to whoever sends it. The
// choice depends on the image alone.
func fewColours(img image.Image) image.Image {
	src, ok := img.(*image.RGBA)
	if !ok {
		return img
	}
	often := map[color.RGBA]int{}
	at := func(i int) color.RGBA {
		return color.RGBA{src.Pix[i], src.Pix[i+1], src.Pix[i+2], src.Pix[i+3]}
	}
	for i := 0; i+3 < len(src.Pix); i += 4 {
		often[at(i)]++
	}
	all := make([]color.RGBA, 0, len(often))
	for c := range often {
		all = append(all, c)
	}
	key := func(c color.RGBA) uint32 {
		return uint32(c.R)<<24 | uint32(c.G)<<16 | uint32(c.B)<<8 | uint32(c.A)
	}
	sort.Slice(all, func(i, j int) bool {
		if often[all[i]] != often[all[j]] {
			return often[all[i]] > often[all[j]]
		}
		return key(all[i]) < key(all[j])
	})
	palette := spacedPalette(all)
	place := make(map[color.RGBA]uint8, len(all))
	for _, c := range all {
		place[c] = uint8(palette.Index(c))
	}
	out := image.NewPaletted(src.Rect, palette)
	for y := range src.Rect.Dy() {
		for x := range src.Rect.Dx() {
			out.Pix[y*out.Stride+x] = place[at(y*src.Stride+4*x)]
		}
	}
	return out
}

// spacedPalette takes from colours, the most frequent first, those that stand
// apart by more than the least gap in any channel with which 256 suffice: no
// colour is further than that gap from one of the palette.
func spacedPalette(colours []color.RGBA) color.Palette {
	apart := func(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }
	for gap := 0; ; gap++ {
		var chosen []color.RGBA
	next:
		for _, c := range colours {
			for _, p := range chosen {
				if apart(c.R, p.R) <= gap && apart(c.G, p.G) <= gap && apart(c.B, p.B) <= gap && apart(c.A, p.A) <= gap {
					continue next
				}
			}
			if chosen = append(chosen, c); len(chosen) > 256 {
				break
			}
		}
		if len(chosen) <= 256 {
			palette := make(color.Palette, len(chosen))
			for i, c := range chosen {
				palette[i] = c
			}
			return palette
		}
	}
}
