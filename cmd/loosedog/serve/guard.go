package serve

import (
	"io"
	"log"
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
	"time"
)

// policy is what the page may load and run: what this server sends, and nothing
// else; data: is the icon, which is none.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self'; " +
	"img-src 'self' data:; worker-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// silent swallows what net/http would print of strangers' broken connections.
var silent = log.New(io.Discard, "", 0)

// guard turns away requests that do not come from our own page.
type guard struct{ names []string }

// protect lets through only what is meant for this server and, where it could
// change something, what its own page sent.
//
// The Host must be an address or a name of ours: a foreign name that was made to
// lead here (DNS rebinding) is refused. The Origin of a request that is no plain
// look must be this server. Browsers send it by themselves and no page can
// change it.
func (g guard) protect(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "no-referrer")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "microphone=(self), camera=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		switch {
		case !g.ourHost(r.Host):
			fail(w, refuse(http.StatusForbidden, "this page answers only to its own address; open the one that loosedog printed"))
		case (r.Method == http.MethodGet || r.Method == http.MethodHead) && r.ContentLength != 0:
			// Nobody waits for a body that nobody asked for.
			h.Set("Connection", "close")
			fail(w, refuse(http.StatusBadRequest, "a request to look has no body"))
		case !ourOrigin(r):
			fail(w, refuse(http.StatusForbidden, "this came from another page; open the one that loosedog printed"))
		default:
			// Nobody who looks may hold up an answer for ever; the others see to that
			// themselves.
			end := time.Time{}
			if r.Method == http.MethodGet {
				end = time.Now().Add(2 * time.Minute)
			}
			_ = http.NewResponseController(w).SetWriteDeadline(end)
			next.ServeHTTP(w, r)
		}
	})
}

// ourHost tells whether a Host header names this server: a plain address, which
// nobody can make lead elsewhere, the loopback's name, or a name that the owner
// gave.
func (g guard) ourHost(host string) bool {
	name := host
	if h, _, err := net.SplitHostPort(host); err == nil {
		name = h
	}
	name = strings.ToLower(strings.TrimSuffix(strings.Trim(name, "[]"), "."))
	if _, err := netip.ParseAddr(name); err == nil {
		return true
	}
	return name == "localhost" || slices.Contains(g.names, name)
}

// ourOrigin tells whether a request may come from where it comes from.
func ourOrigin(r *http.Request) bool {
	look := r.Method == http.MethodGet || r.Method == http.MethodHead
	origin := r.Header.Values("Origin")
	switch {
	case len(origin) > 1:
		return false
	case len(origin) == 1 && origin[0] != "http://"+r.Host:
		return false
	case len(origin) == 0 && !look:
		return false
	}
	// A link from another site may open the page, but no other site may load
	// parts of it.
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	default:
		return look && r.URL.Path == "/" && r.Header.Get("Sec-Fetch-Mode") == "navigate"
	}
}
