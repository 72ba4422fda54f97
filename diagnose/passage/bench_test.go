package passage

import "testing"

func BenchmarkAlign(b *testing.B) {
	s, err := NewSheet(UsualWidth, 10)
	if err != nil {
		b.Fatal(err)
	}
	text := parsed(b, s.Text())
	strokes, _ := typedAs(text)
	for b.Loop() {
		Align(text, strokes)
	}
}
