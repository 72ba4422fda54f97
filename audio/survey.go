package audio

import "context"

// Survey is being written.
func Survey(ctx context.Context, path string, progress func(done, total int64)) (*Quality, error) {
	s, err := Open(ctx, path)
	if err != nil {
		return nil, err
	}
	defer s.Close()
	return &Quality{Format: s.Format()}, nil
}
