package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"net"
	"net/netip"
	"os"
	"os/exec"
	"runtime"
	"strings"

	"github.com/spf13/cobra"

	"loosedog/audio"
	"loosedog/cmd/loosedog/serve"
	"loosedog/diagnose"
	"loosedog/diagnose/passage"
	"loosedog/diagnose/record"
)

// serveAddr is where the page is served unless told otherwise: on this computer
// alone, at a port that is free.
const serveAddr = "127.0.0.1:0"

func newServe(u *ui) *cobra.Command {
	var addr string
	var noOpen bool
	cmd := &cobra.Command{
		Use:   "serve [FOLDER]",
		Short: "Record, measure and look at takes in a browser",
		Long: `Serve opens a page in the browser: drop a recording on it or record one there,
see what was heard, play any pair of strokes slowly, put events right by hand,
and take the outputs away. It runs until it is stopped with Ctrl-C.

FOLDER, where it is run when none is named, is the record: each take lies there
as NAME.wav and what was measured of it as NAME.json. Nothing in it is written
over unasked, and the page reaches no other folder.

The page is for this computer alone and asks the network for nothing. --addr can
open it to others in the same network; they can then look at the takes and add
to them, and browsers lend the microphone only to the computer itself.`,
		Example: `  loosedog serve
  loosedog serve shelf
  loosedog serve --no-open --addr 127.0.0.1:8123`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usagef("loosedog serve "+args[0], "serve takes one folder, not %d", len(args))
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			folder := "."
			if len(args) == 1 {
				folder = args[0]
			}
			return servePage(cmd.Context(), u, folder, addr, !noOpen)
		},
		ValidArgsFunction: folders,
	}
	cmd.Flags().StringVar(&addr, "addr", serveAddr, "serve at this `HOST:PORT`; port 0 is one that is free")
	cmd.Flags().BoolVar(&noOpen, "no-open", false, "do not open the browser")
	return cmd
}

// servePage serves a folder until ctx ends.
func servePage(ctx context.Context, u *ui, folder, addr string, open bool) error {
	if folder == "" {
		return usagef("loosedog serve shelf", "the folder has no name")
	}
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return usagef("--addr 127.0.0.1:8123", "the address %q is not a host and a port", addr)
	}
	switch info, err := os.Stat(folder); {
	case errors.Is(err, fs.ErrNotExist):
		return badFile(fmt.Errorf("there is no folder %q; make it first", folder))
	case err != nil:
		return badFile(fmt.Errorf("cannot read the folder %q: %w", folder, bare(err)))
	case !info.IsDir():
		return badFile(fmt.Errorf("%q is a file; name the folder that it lies in", folder))
	}
	var names []string
	if _, err := netip.ParseAddr(host); err != nil && host != "" {
		names = append(names, strings.ToLower(host))
	}
	s, err := serve.New(serve.Options{Folder: folder, Measure: measureForPage, Sheet: sheetForPage(), Names: names})
	if err != nil {
		return badFile(fmt.Errorf("cannot open the folder %q: %w", folder, bare(err)))
	}
	defer s.Close()
	ln, err := new(net.ListenConfig).Listen(ctx, "tcp", addr)
	if err != nil {
		if stopped(ctx) != nil {
			return nil
		}
		return badFile(fmt.Errorf("cannot serve at %q: %w; choose another with --addr", addr, bareNet(err)))
	}
	url := "http://" + ln.Addr().String() + "/"
	if tcp, ok := ln.Addr().(*net.TCPAddr); ok {
		switch {
		case tcp.IP.IsUnspecified():
			u.warn("everybody in this network can look at the takes in %q and add to them", folder)
			url = fmt.Sprintf("http://127.0.0.1:%d/", tcp.Port)
		case !tcp.IP.IsLoopback():
			u.warn("everybody who reaches %s can look at the takes in %q and add to them", tcp.IP, folder)
		}
	}
	fmt.Fprintf(u.out, "The page is at %s\nStop it with Ctrl-C.\n", url)
	if open {
		if err := openBrowser(ctx, url); err != nil {
			u.note("the browser could not be opened (%v); open the address yourself", err)
		}
	}
	if err := s.Serve(ctx, ln); err != nil {
		return inside(fmt.Errorf("the page stopped: %w", err))
	}
	return nil
}

// measureForPage measures one take for the page.
func measureForPage(ctx context.Context, path string, ask serve.Ask, progress func(string, float64)) (*diagnose.Take, error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, bare(err)
	}
	h := new(heard)
	bar := newProgress(nil, true)
	bar.tell = progress
	err = h.listen(ctx, bar, path, diagnose.Options{
		Action: diagnose.Action(ask.Action), Pitch: ask.Pitch, Text: ask.Text, Corrections: ask.Corrections, Machine: ask.Machine, PageCount: ask.PageCount,
	}, false)
	if err == nil {
		// So that 'loosedog shelf' need not measure it again.
		record.Stamp(ctx, h.take, info, path, diagnose.Action(ask.Action), ask.Machine, audio.TimeTag)
	}
	return h.take, err
}

// bareNet is the reason inside a network error.
func bareNet(err error) error {
	if op, ok := errors.AsType[*net.OpError](err); ok {
		return op.Err
	}
	return err
}

// openBrowser asks the system to open an address in the owner's browser.
func openBrowser(ctx context.Context, url string) error {
	var cmd *exec.Cmd
	switch runtime.GOOS {
	case "windows":
		cmd = exec.CommandContext(ctx, "rundll32", "url.dll,FileProtocolHandler", url)
	case "darwin":
		cmd = exec.CommandContext(ctx, "open", url)
	default:
		cmd = exec.CommandContext(ctx, "xdg-open", url)
	}
	if err := cmd.Start(); err != nil {
		if errors.Is(err, exec.ErrNotFound) {
			return fmt.Errorf("%s is not installed", cmd.Args[0])
		}
		return err
	}
	go cmd.Wait() // so that nothing is left of it
	return nil
}

// sheetForPage is the text to type that the page shows while it records; none
// where it cannot be laid out.
func sheetForPage() string {
	s, err := passage.NewSheet(passage.UsualWidth, 10)
	if err != nil {
		return ""
	}
	return s.Text()
}
