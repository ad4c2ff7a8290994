package desk

import (
	"crypto/subtle"
	"io"
	"log"
	"mime"
	"net/http"
	"slices"
	"strings"

	"farhail/cmd/internal/page"
)

// policy lets the page load its own parts and nothing else, from nowhere else.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; " +
	"base-uri 'none'; form-action 'none'; frame-ancestors 'none'"

// headers stand on every answer, refusals too.
var headers = map[string]string{
	"Content-Security-Policy":      policy,
	"X-Content-Type-Options":       "nosniff",
	"X-Frame-Options":              "DENY",
	"Referrer-Policy":              "no-referrer", // the token is in the address
	"Cache-Control":                "no-store",
	"Cross-Origin-Resource-Policy": "same-origin",
	"Cross-Origin-Opener-Policy":   "same-origin",
	"Permissions-Policy":           "camera=(), microphone=(), geolocation=()",
}

// A route is one thing that can be asked for. Its name is the whole rest of the address: no
// path is ever made of what a client sends.
type route struct {
	method string
	body   string // media type of what is sent, "" for nothing
	limit  int64  // of what is sent [bytes]
	do     func(s *Server, w http.ResponseWriter, r *http.Request)
}

const jsonType = "application/json"

var routes = map[string]route{
	"state":  {http.MethodGet, "", 0, (*Server).getState},
	"result": {http.MethodGet, "", 0, (*Server).getResult},
	"viewer": {http.MethodGet, "", 0, (*Server).getViewer},
	"export": {http.MethodGet, "", 0, (*Server).getExport},
	"events": {http.MethodGet, "", 0, (*Server).getEvents},
	"edit":   {http.MethodPost, jsonType, largestEdit, (*Server).postEdit},
	"undo":   {http.MethodPost, jsonType, largestEdit, (*Server).postUndo},
	"redo":   {http.MethodPost, jsonType, largestEdit, (*Server).postRedo},
	"reload": {http.MethodPost, jsonType, largestEdit, (*Server).postReload},
	"leg":    {http.MethodPost, jsonType, largestEdit, (*Server).postLeg},
	"note":   {http.MethodPost, jsonType, largestEdit, (*Server).postNote},
	"make":   {http.MethodPost, jsonType, largestEdit, (*Server).postMake},
	"upload": {http.MethodPost, "application/octet-stream", largestFile, (*Server).postUpload},
}

// ServeHTTP refuses what does not come from the desk's own page, and answers the rest.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	for name, value := range headers {
		w.Header().Set(name, value)
	}
	if !slices.Contains(s.hosts, r.Host) {
		// Another name that leads to this machine may be somebody else's page.
		http.Error(w, "this is not its address", http.StatusMisdirectedRequest)
		return
	}
	name, ours := s.under(r.URL.Path)
	if !ours {
		http.NotFound(w, r)
		return
	}
	asked, ok := routes[name]
	if file, isFile := page.DeskFile(s.fileName(name)); isFile {
		asked, ok = route{method: http.MethodGet, do: func(_ *Server, w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", file.Type)
			// A window that went away needs no error.
			_, _ = w.Write(file.Data)
		}}, true
	}
	switch {
	case !ok:
		http.NotFound(w, r)
		return
	case r.Method != asked.method:
		w.Header().Set("Allow", asked.method)
		http.Error(w, "not that way", http.StatusMethodNotAllowed)
		return
	case !sameSite(r):
		http.Error(w, "not from another page", http.StatusForbidden)
		return
	case asked.method == http.MethodPost && !s.ownOrigin(r):
		http.Error(w, "not from another page", http.StatusForbidden)
		return
	case asked.body != "" && !isType(r, asked.body):
		http.Error(w, "send "+asked.body, http.StatusUnsupportedMediaType)
		return
	case r.ContentLength > asked.limit:
		s.refuse(w, http.StatusRequestEntityTooLarge, "large", "more than can be taken at once", "split it")
		return
	}
	if name != "events" { // which counts its own
		select {
		case s.slots <- struct{}{}:
			defer func() { <-s.slots }()
		default:
			w.Header().Set("Retry-After", "1")
			s.refuse(w, http.StatusServiceUnavailable, "busy", "too many requests at once", "try again in a second")
			return
		}
	}
	r.Body = http.MaxBytesReader(w, r.Body, asked.limit)
	asked.do(s, w, r)
}

// fileName returns the page's file that a name means: before there is a plan, the start
// page stands in the place of the desk.
func (s *Server) fileName(name string) string {
	switch {
	case name != "":
		return name
	case s.current() == nil:
		return "start.html"
	}
	return "desk.html"
}

// under returns what follows the token in a path, and whether it has the token.
func (s *Server) under(path string) (string, bool) {
	token, name, slash := strings.Cut(strings.TrimPrefix(path, "/"), "/")
	same := subtle.ConstantTimeCompare([]byte(token), []byte(s.o.Token)) == 1
	return name, same && slash && s.o.Token != ""
}

// sameSite reports whether a browser says that a request comes from the page itself, or
// from a person who opened the address. Old browsers and other programs say nothing.
func sameSite(r *http.Request) bool {
	switch r.Header.Get("Sec-Fetch-Site") {
	case "", "same-origin", "none":
		return true
	}
	return r.Method == http.MethodGet && r.Header.Get("Sec-Fetch-Mode") == "navigate" && r.Header.Get("Sec-Fetch-Dest") == "document"
}

// ownOrigin reports whether a writing request comes from the desk's own page. Without an
// origin the browser must vouch for it.
func (s *Server) ownOrigin(r *http.Request) bool {
	origins := r.Header.Values("Origin")
	if len(origins) == 0 {
		return r.Header.Get("Sec-Fetch-Site") == "same-origin"
	}
	return len(origins) == 1 && origins[0] == "http://"+r.Host
}

func isType(r *http.Request, want string) bool {
	got, _, err := mime.ParseMediaType(r.Header.Get("Content-Type"))
	return err == nil && got == want
}

// nobody takes the HTTP server's messages: addresses hold the token, and stderr is for
// the person at the desk.
func nobody() *log.Logger { return log.New(io.Discard, "", 0) }
