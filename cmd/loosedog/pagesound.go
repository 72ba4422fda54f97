package main

import (
	"context"

	"loosedog/audio"
	"loosedog/diagnose"
	"loosedog/report"
)

// readPageSound reads what the HTML page holds of a take's sound: its outline
// and the clips of the flagged pairs.
func readPageSound(ctx context.Context, path string, mix audio.Mix, take *diagnose.Take) (*report.PageSound, error) {
	mono, err := audio.OpenMono(ctx, path, mix)
	if err != nil {
		return nil, err
	}
	defer mono.Close()
	return report.ReadPageSound(mono, take)
}
