package report

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// placer finds room for small labels beside marks.
type placer struct {
	within vg.Rectangle
	taken  []vg.Rectangle
}

// around is the rectangle of the given size with its middle at p.
func around(p vg.Point, w, h vg.Length) vg.Rectangle {
	return vg.Rectangle{
		Min: vg.Point{X: p.X - w/2, Y: p.Y - h/2},
		Max: vg.Point{X: p.X + w/2, Y: p.Y + h/2},
	}
}

func overlap(a, b vg.Rectangle) bool {
	return a.Min.X < b.Max.X && b.Min.X < a.Max.X && a.Min.Y < b.Max.Y && b.Min.Y < a.Max.Y
}

func inside(a, b vg.Rectangle) bool {
	return a.Min.X >= b.Min.X && a.Max.X <= b.Max.X && a.Min.Y >= b.Min.Y && a.Max.Y <= b.Max.Y
}

// near finds the middle of a free place of the given size close to at and takes
// it. far tells that it stands so far away that a line to the mark is needed; ok
// is false when there is no room.
func (p *placer) near(at vg.Point, w, h vg.Length) (middle vg.Point, far, ok bool) {
	const directions = 16
	for ring, r := range []vg.Length{8, 12, 17, 23, 30, 38, 47} {
		for d := range directions {
			// Upper right first: that is where a reader looks for a mark's number.
			turn := math.Pi/4 + 2*math.Pi*float64(d)/directions
			c := vg.Point{
				X: at.X + (r+w/2-4)*vg.Length(math.Cos(turn)),
				Y: at.Y + r*vg.Length(math.Sin(turn)),
			}
			box := around(c, w, h)
			if !inside(box, p.within) || p.hits(box) || ring > 0 && p.crosses(at, c) {
				continue
			}
			p.taken = append(p.taken, box)
			return c, ring > 0, true
		}
	}
	return vg.Point{}, false, false
}

func (p *placer) hits(box vg.Rectangle) bool {
	for _, t := range p.taken {
		if overlap(box, t) {
			return true
		}
	}
	return false
}

// crosses tells whether a line from a mark to a place would run through what is
// taken, the mark's own surroundings aside.
func (p *placer) crosses(from, to vg.Point) bool {
	const steps = 24
	for k := range steps + 1 {
		f := vg.Length(k) / steps
		q := vg.Point{X: from.X + f*(to.X-from.X), Y: from.Y + f*(to.Y-from.Y)}
		if math.Hypot(float64(q.X-from.X), float64(q.Y-from.Y)) < 6 {
			continue
		}
		if p.hits(around(q, 0.5, 0.5)) {
			return true
		}
	}
	return false
}

// spread moves labels of the given widths, wanted at the given middles (in
// rising order), just as far as they must so that none overlaps its neighbour
// and all stand between lo and hi where there is room. It merges neighbours that
// push one another into a block at the mean of their wishes, as the
// pool-adjacent-violators method of isotonic regression does.
func spread(middles, widths []vg.Length, lo, hi vg.Length) []vg.Length {
	type block struct {
		first, n int
		sum      vg.Length // of the wishes for the block's left edge
		width    vg.Length
	}
	var blocks []block
	left := func(b block) vg.Length {
		x := b.sum / vg.Length(b.n)
		return max(lo, min(x, hi-b.width))
	}
	for i := range middles {
		b := block{first: i, n: 1, sum: middles[i] - widths[i]/2, width: widths[i]}
		for len(blocks) > 0 {
			last := blocks[len(blocks)-1]
			if left(last)+last.width <= left(b) {
				break
			}
			// A member that stands further right in the block wishes the block's
			// edge to be further left.
			last.sum += b.sum - vg.Length(b.n)*last.width
			last.width += b.width
			last.n += b.n
			b = last
			blocks = blocks[:len(blocks)-1]
		}
		blocks = append(blocks, b)
	}
	out := make([]vg.Length, len(middles))
	for _, b := range blocks {
		x := left(b)
		for i := b.first; i < b.first+b.n; i++ {
			out[i] = x + widths[i]/2
			x += widths[i]
		}
	}
	return out
}
