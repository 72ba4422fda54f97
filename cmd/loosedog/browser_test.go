package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
)

// A browser for the tests of the page: Chromium without a window, driven over
// its own protocol.

// patience is how long a test waits for what the page is to do.
const patience = 40 * time.Second

// tab is one page in the browser.
type tab struct {
	t   *testing.T
	ctx context.Context
	// downloads is where saved files go.
	downloads string
}

// chromium finds the browser. A test without one is skipped, but not on the
// build machine.
func chromium(t *testing.T) string {
	t.Helper()
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if inCI() {
		t.Fatal("chromium is not installed")
	}
	t.Skip("chromium is not installed")
	return ""
}

// openTab starts a browser whose microphone plays the recording mic.
func openTab(t *testing.T, mic string) *tab {
	t.Helper()
	// Not t.TempDir: the browser's children can write for a moment after its end.
	profile, err := os.MkdirTemp("", "loosedog-browser-")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		for range 50 {
			if os.RemoveAll(profile) == nil {
				return
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
	opts := append(chromedp.DefaultExecAllocatorOptions[:],
		chromedp.ExecPath(chromium(t)),
		chromedp.DisableGPU,
		chromedp.UserDataDir(profile),
		chromedp.Flag("use-fake-device-for-media-stream", true),
		chromedp.Flag("use-fake-ui-for-media-stream", true),
		chromedp.Flag("use-file-for-fake-audio-capture", mic+"%noloop"),
		chromedp.Flag("lang", "en-GB"),
	)
	if os.Geteuid() == 0 {
		opts = append(opts, chromedp.NoSandbox) // the sandbox does not work for root
	}
	alloc, stopAlloc := chromedp.NewExecAllocator(context.Background(), opts...)
	ctx, stop := chromedp.NewContext(alloc)
	b := &tab{t: t, ctx: ctx, downloads: t.TempDir()}
	t.Cleanup(func() {
		end, cancel := context.WithTimeout(ctx, 10*time.Second)
		defer cancel()
		_ = chromedp.Cancel(end) // a browser that will not go is killed below
		stop()
		stopAlloc()
	})
	b.do(func(ctx context.Context, tg *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, tg, page.AddScriptToEvaluateOnNewDocument, page.AddScriptToEvaluateOnNewDocumentParams{Source: watchPage})
		return chromedp.Void{}, err
	})
	if _, err := chromedp.CallBrowser(ctx, browser.SetDownloadBehavior, browser.SetDownloadBehaviorParams{
		Behavior: "allow", DownloadPath: b.downloads,
	}); err != nil {
		t.Fatal(err)
	}
	return b
}

// watchPage runs before the page's own scripts: it notes at which rate sounds are
// started, what the microphone is asked for, and every error.
const watchPage = `
window.watched = { rates: [], mics: [], errors: [] };
const start = AudioBufferSourceNode.prototype.start;
AudioBufferSourceNode.prototype.start = function (...a) {
  watched.rates.push([this.playbackRate.value, this.buffer.duration, this.buffer.sampleRate]);
  return start.apply(this, a);
};
if (navigator.mediaDevices) {
  const get = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
  navigator.mediaDevices.getUserMedia = (c) => { watched.mics.push(c.audio); return get(c); };
}
addEventListener("error", (e) => watched.errors.push(String(e.message)));
addEventListener("unhandledrejection", (e) => watched.errors.push(String(e.reason)));
addEventListener("securitypolicyviolation", (e) => watched.errors.push("policy: " + e.violatedDirective + " " + e.blockedURI));
`

// do runs steps and fails the test where one fails.
func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	// A target that is opened within a deadline would end with it.
	if err := chromedp.Do(b.ctx); err != nil {
		b.t.Fatal(err)
	}
	if err := chromedp.Do(ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

// see evaluates an expression on the page.
func see[T any](b *tab, js string) T {
	b.t.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// until waits for an expression to hold.
func (b *tab) until(what, js string) {
	b.t.Helper()
	for end := time.Now().Add(patience); ; time.Sleep(60 * time.Millisecond) {
		if see[bool](b, "Boolean("+js+")") {
			return
		}
		if time.Now().After(end) {
			b.t.Fatalf("waited in vain for %s; the page says %q; errors %q", what,
				see[string](b, "document.body.innerText.slice(0, 600)"), see[[]string](b, "watched.errors"))
		}
	}
}

// spot is the middle of an element in the window, brought into view, once the
// page has come to rest.
func (b *tab) spot(selector string) (x, y float64) {
	b.t.Helper()
	b.until(selector, fmt.Sprintf("document.querySelector(%q)", selector))
	at := see[[]float64](b, fmt.Sprintf(`(async () => {
		let last = "";
		for (let same = 0; same < 4; ) {
			const e = document.querySelector(%q);
			e.scrollIntoView({ block: "center", inline: "center" });
			await new Promise(requestAnimationFrame);
			const r = e.getBoundingClientRect();
			const now = [r.left + r.width / 2, r.top + r.height / 2];
			same = String(now) === last ? same + 1 : 0;
			last = String(now);
			if (same === 3) return now;
		}
	})()`, selector))
	return at[0], at[1]
}

// click presses the mouse over an element.
func (b *tab) click(selector string) {
	b.t.Helper()
	x, y := b.spot(selector)
	b.do(chromedp.MouseClickXY(x, y))
}

// press clicks the button or link whose text holds words.
func (b *tab) press(words string) {
	b.t.Helper()
	b.until("a button "+words, fmt.Sprintf(`(window.found = [...document.querySelectorAll("button, a, label.do, summary")].find((e) => e.textContent.includes(%q) && e.offsetParent))`, words))
	see[bool](b, `(document.querySelectorAll("[data-pressed]").forEach((e) => e.removeAttribute("data-pressed")), found.setAttribute("data-pressed", ""), true)`)
	b.click("[data-pressed]")
}

// hover moves the mouse over an element.
func (b *tab) hover(selector string) {
	b.t.Helper()
	x, y := b.spot(selector)
	b.do(chromedp.MouseEvent(chromedp.MouseMoved, x, y))
}

// drop drops a file on an element, as from a file manager.
func (b *tab) drop(selector, file string) {
	b.t.Helper()
	x, y := b.spot(selector)
	for _, kind := range []input.DispatchDragEventType{"dragEnter", "dragOver", "drop"} {
		b.do(func(ctx context.Context, tg *chromedp.Target) (chromedp.Void, error) {
			_, err := cdp.Call(ctx, tg, input.DispatchDragEvent, input.DispatchDragEventParams{
				Type: kind, X: x, Y: y,
				Data: &input.DragData{Items: []*input.DragDataItem{}, Files: []string{file}, DragOperationsMask: 1},
			})
			return chromedp.Void{}, err
		})
	}
}

// light sets the colours that the owner's system prefers.
func (b *tab) light(scheme string) {
	b.t.Helper()
	b.do(func(ctx context.Context, tg *chromedp.Target) (chromedp.Void, error) {
		_, err := cdp.Call(ctx, tg, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
			Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return chromedp.Void{}, err
	})
}

// screenshots is where pictures of the page go, to be looked at; git ignores it.
var screenshots = filepath.Join("..", "..", "screenshots")

// pictures takes pictures of the whole page at the widths of a phone, a small and
// a large window, in the colour schemes given.
func (b *tab) pictures(name string, schemes ...string) {
	b.t.Helper()
	for _, width := range []int64{390, 1024, 1600} {
		b.picture(name, width, schemes)
	}
	b.do(chromedp.EmulateViewport(1280, 900))
}

func (b *tab) picture(name string, width int64, schemes []string) {
	b.t.Helper()
	if err := os.MkdirAll(screenshots, 0o777); err != nil {
		b.t.Fatal(err)
	}
	b.do(chromedp.EmulateViewport(width, 900), chromedp.Sleep(150*time.Millisecond))
	for _, scheme := range schemes {
		b.light(scheme)
		ctx, cancel := context.WithTimeout(b.ctx, patience)
		png, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
		cancel()
		if err != nil {
			b.t.Fatal(err)
		}
		if wide := see[float64](b, "document.documentElement.scrollWidth"); wide > float64(width) {
			b.t.Errorf("%s at %d: the page is %.0f wide", name, width, wide)
		}
		if err := os.WriteFile(filepath.Join(screenshots, fmt.Sprintf("%s-%d-%s.png", name, width, scheme)), png, 0o666); err != nil {
			b.t.Fatal(err)
		}
	}
	b.light("light")
}

// axeFile is the accessibility checker, where .ci/run puts it.
var axeFile = filepath.Join("..", "..", "bin", "axe", "node_modules", "axe-core", "axe.min.js")

// accessible has axe-core look at the page as it stands, in light or dark, but not
// into the drawings, which are hidden from those who hear the page read out;
// nothing serious may be found.
func (b *tab) accessible(name string, schemes ...string) {
	b.t.Helper()
	script, err := os.ReadFile(axeFile)
	if err != nil {
		if inCI() {
			b.t.Fatal("axe-core is not installed")
		}
		b.t.Logf("axe-core is not installed: %s was not checked", name)
		return
	}
	see[bool](b, `window.axe ? true : (() => {`+string(script)+"\n;return true})()")
	for _, scheme := range schemes {
		b.light(scheme)
		found := see[[]struct {
			ID, Impact, Help string
			Nodes            []string
		}](b, `axe.run({ exclude: [["svg"]] }, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }).then((r) =>
			r.violations.map((v) => ({ id: v.id, impact: v.impact, help: v.help, nodes: v.nodes.slice(0, 4).map((n) => n.html.slice(0, 160)) })))`)
		for _, v := range found {
			if v.Impact == "serious" || v.Impact == "critical" {
				b.t.Errorf("%s, %s: %s (%s): %s %q", name, scheme, v.ID, v.Impact, v.Help, v.Nodes)
			} else {
				b.t.Logf("%s, %s: %s (%s): %s %q", name, scheme, v.ID, v.Impact, v.Help, v.Nodes)
			}
		}
	}
	b.light("light")
}

// noErrors fails where the page's scripts failed or its policy was broken.
func (b *tab) noErrors(name string) {
	b.t.Helper()
	if errs := see[[]string](b, "watched.errors"); len(errs) > 0 {
		b.t.Errorf("%s: %q", name, errs)
	}
}

// downloaded waits for a saved file.
func (b *tab) downloaded(name string) []byte {
	b.t.Helper()
	path := filepath.Join(b.downloads, name)
	for end := time.Now().Add(patience); ; time.Sleep(50 * time.Millisecond) {
		if raw, err := os.ReadFile(path); err == nil && len(raw) > 0 {
			if _, err := os.Stat(path + ".crdownload"); err != nil {
				return raw
			}
		}
		if time.Now().After(end) {
			list, _ := filepath.Glob(filepath.Join(b.downloads, "*"))
			b.t.Fatalf("%s was not saved; there are %s", name, strings.Join(list, ", "))
		}
	}
}

// readJSON reads a file of the folder into v.
func readJSON(t *testing.T, path string, v any) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(raw, v); err != nil {
		t.Fatal(err)
	}
}
