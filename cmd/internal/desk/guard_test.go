package desk

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOnlyLoopback(t *testing.T) {
	l, err := net.Listen("tcp4", "0.0.0.0:0")
	require.NoError(t, err)
	assert.ErrorIs(t, NewServer(Options{Token: secret}).Serve(context.Background(), l), errNotLoopback)
	_, err = l.Accept()
	assert.Error(t, err, "it is closed")
}

func TestHeadersOnEveryAnswer(t *testing.T) {
	c := smallDesk(t, nil)
	wrong := func(r *http.Request) { r.Host = "example.org" }
	for name, a := range map[string]answer{
		"page": c.get(""), "state": c.get("state"), "none": c.get("nothing"), "script": c.get("desk.js"),
		"refused": c.request(http.MethodGet, "state", "", wrong), "method": c.request(http.MethodPut, "state", "", nil),
	} {
		assert.Equal(t, policy, a.header.Get("Content-Security-Policy"), name)
		assert.NotContains(t, policy, "unsafe")
		assert.Equal(t, "nosniff", a.header.Get("X-Content-Type-Options"), name)
		assert.Equal(t, "no-referrer", a.header.Get("Referrer-Policy"), name)
		assert.Equal(t, "no-store", a.header.Get("Cache-Control"), name)
		assert.Equal(t, "DENY", a.header.Get("X-Frame-Options"), name)
		for h := range a.header {
			assert.False(t, strings.HasPrefix(h, "Access-Control-"), "%s: %s", name, h)
		}
	}
}

// TestNothingIsInline asks that the page obeys its own policy.
func TestNothingIsInline(t *testing.T) {
	c := smallDesk(t, nil)
	require.Equal(t, done, c.settled().Result.State)
	for _, name := range []string{"", "viewer", "start.html"} {
		a := c.get(name)
		require.Equal(t, http.StatusOK, a.code, name)
		for _, word := range []string{" style=", "<style", "onclick", "onload", "javascript:", "http://", "https://"} {
			assert.NotContains(t, string(a.body), word, name)
		}
		for _, part := range strings.Split(string(a.body), "<script")[1:] {
			assert.True(t, strings.HasPrefix(part, ` src="`) || strings.HasPrefix(part, ` type="application/json"`), part[:min(40, len(part))])
		}
	}
	for name, kind := range map[string]string{"page.css": "text/css", "desk.css": "text/css", "desk.js": "text/javascript", "start.js": "text/javascript", "": "text/html"} {
		a := c.get(name)
		assert.Equal(t, http.StatusOK, a.code, name)
		assert.True(t, strings.HasPrefix(a.header.Get("Content-Type"), kind), name)
	}
}

func TestWhoIsRefused(t *testing.T) {
	c := smallDesk(t, nil)
	edit := `{"number":0,"changes":[{"path":"title","value":"x"}]}`
	port := c.host[strings.LastIndex(c.host, ":"):]
	for _, tc := range []struct {
		name, method, path, body string
		adapt                    func(r *http.Request)
		code                     int
	}{
		{"another name", "GET", "state", "", func(r *http.Request) { r.Host = "desk.example" + port }, http.StatusMisdirectedRequest},
		{"a name in front", "GET", "state", "", func(r *http.Request) { r.Host = "127.0.0.1.example" + port }, http.StatusMisdirectedRequest},
		{"another port", "GET", "state", "", func(r *http.Request) { r.Host = "127.0.0.1:1" }, http.StatusMisdirectedRequest},
		{"no port", "GET", "state", "", func(r *http.Request) { r.Host = "127.0.0.1" }, http.StatusMisdirectedRequest},
		{"the six-byte loopback", "GET", "state", "", func(r *http.Request) { r.Host = "[::1]" + port }, http.StatusMisdirectedRequest},
		{"localhost", "GET", "state", "", func(r *http.Request) { r.Host = "localhost" + port }, http.StatusOK},

		{"no token", "GET", "state", "", func(r *http.Request) { r.URL.Path = "/state" }, http.StatusNotFound},
		{"an empty token", "GET", "state", "", func(r *http.Request) { r.URL.Path = "//state" }, http.StatusNotFound},
		{"the root", "GET", "state", "", func(r *http.Request) { r.URL.Path = "/" }, http.StatusNotFound},
		{"another token", "GET", "state", "", func(r *http.Request) { r.URL.Path = "/" + strings.Repeat("0", 32) + "/state" }, http.StatusNotFound},
		{"a part of the token", "GET", "state", "", func(r *http.Request) { r.URL.Path = "/" + secret[:31] + "/state" }, http.StatusNotFound},
		{"more than the token", "GET", "state", "", func(r *http.Request) { r.URL.Path = "/" + secret + "0/state" }, http.StatusNotFound},
		{"no slash", "GET", "state", "", func(r *http.Request) { r.URL.Path = "/" + secret }, http.StatusNotFound},

		{"a path up", "GET", "../../etc/passwd", "", nil, http.StatusNotFound},
		{"a path up, written in figures", "GET", "%2e%2e%2fplan.yaml", "", nil, http.StatusNotFound},
		{"the plan's file", "GET", "plan.yaml", "", nil, http.StatusNotFound},
		{"the log's file", "GET", "log.txt", "", nil, http.StatusNotFound},
		{"the page's own template", "GET", "page.html", "", nil, http.StatusNotFound},
		{"a route below", "GET", "state/x", "", nil, http.StatusNotFound},

		{"read by writing", "POST", "state", "{}", nil, http.StatusMethodNotAllowed},
		{"write by reading", "GET", "edit", "", nil, http.StatusMethodNotAllowed},
		{"asked beforehand", "OPTIONS", "edit", "", nil, http.StatusMethodNotAllowed},
		{"deleted", "DELETE", "edit", "", nil, http.StatusMethodNotAllowed},

		{"another origin", "POST", "edit", edit, func(r *http.Request) { r.Header.Set("Origin", "http://example.org") }, http.StatusForbidden},
		{"another port's origin", "POST", "edit", edit, func(r *http.Request) { r.Header.Set("Origin", "http://127.0.0.1:1") }, http.StatusForbidden},
		{"the origin null", "POST", "edit", edit, func(r *http.Request) { r.Header.Set("Origin", "null") }, http.StatusForbidden},
		{"https", "POST", "edit", edit, func(r *http.Request) { r.Header.Set("Origin", "https://"+c.host) }, http.StatusForbidden},
		{"no origin", "POST", "edit", edit, func(r *http.Request) { r.Header.Del("Origin") }, http.StatusForbidden},
		{"no origin, from elsewhere", "POST", "edit", edit, func(r *http.Request) {
			r.Header.Del("Origin")
			r.Header.Set("Sec-Fetch-Site", "same-site")
		}, http.StatusForbidden},
		{"no origin, opened by hand", "POST", "edit", edit, func(r *http.Request) {
			r.Header.Del("Origin")
			r.Header.Set("Sec-Fetch-Site", "none")
		}, http.StatusForbidden},
		{"two origins", "POST", "edit", edit, func(r *http.Request) { r.Header.Add("Origin", "http://example.org") }, http.StatusForbidden},
		{"the right origin from elsewhere", "POST", "edit", edit, func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, http.StatusForbidden},
		{"read from elsewhere", "GET", "state", "", func(r *http.Request) { r.Header.Set("Sec-Fetch-Site", "cross-site") }, http.StatusForbidden},
		{"a form", "POST", "edit", edit, func(r *http.Request) { r.Header.Set("Content-Type", "text/plain") }, http.StatusUnsupportedMediaType},
		{"no type", "POST", "edit", edit, func(r *http.Request) { r.Header.Del("Content-Type") }, http.StatusUnsupportedMediaType},
		{"a form's file", "POST", "upload?name=x", gpx, func(r *http.Request) { r.Header.Set("Content-Type", "multipart/form-data; boundary=x") }, http.StatusUnsupportedMediaType},

		{"too large an edit", "POST", "edit", strings.Repeat(" ", largestEdit+1), nil, http.StatusRequestEntityTooLarge},
		{"too large, length unsaid", "POST", "edit", edit + strings.Repeat(" ", largestEdit), func(r *http.Request) { r.ContentLength = -1 }, http.StatusRequestEntityTooLarge},
		{"too large a file", "POST", "upload?name=x", strings.Repeat(" ", largestFile+1), nil, http.StatusRequestEntityTooLarge},
		{"reading with a body", "GET", "state", "x", nil, http.StatusRequestEntityTooLarge},

		{"not JSON", "POST", "edit", "x", nil, http.StatusBadRequest},
		{"two requests", "POST", "edit", edit + edit, nil, http.StatusBadRequest},
		{"an unknown key", "POST", "edit", `{"number":0,"file":"/etc/passwd"}`, nil, http.StatusBadRequest},
		{"no number", "POST", "edit", `{"changes":[{"path":"title","value":"x"}]}`, nil, http.StatusBadRequest},
		{"undo without a number", "POST", "undo", `{}`, nil, http.StatusBadRequest},

		{"the browser vouches", "POST", "edit", edit, func(r *http.Request) {
			r.Header.Del("Origin")
			r.Header.Set("Sec-Fetch-Site", "same-origin")
		}, http.StatusOK},
	} {
		a := c.request(tc.method, tc.path, tc.body, tc.adapt)
		assert.Equal(t, tc.code, a.code, "%s: %s", tc.name, a.body)
	}
	assert.Equal(t, "x", strings.Trim(strings.Fields(onDisk(t, c.dir, "plan.yaml"))[6], `"`), "only the last one wrote")
}

func TestMostRequestsAtOnce(t *testing.T) {
	c := smallDesk(t, nil)
	for range mostRequests {
		c.s.slots <- struct{}{}
	}
	a := c.get("state")
	fault(t, a, http.StatusServiceUnavailable, "busy")
	assert.Equal(t, "1", a.header.Get("Retry-After"))
	for range mostRequests {
		<-c.s.slots
	}
	c.state()
}

// TestRawRequests sends what no HTTP library would.
func TestRawRequests(t *testing.T) {
	c := smallDesk(t, nil)
	for _, tc := range []struct{ text, want string }{
		{"GET http://example.org/" + secret + "/state HTTP/1.1\r\nHost: " + c.host + "\r\n\r\n", "421"},
		{"GET /" + secret + "/state HTTP/1.1\r\n\r\n", "400"},
		{"GET /" + secret + "/state HTTP/1.0\r\n\r\n", "421"},
		{"GET /" + secret + "/../" + secret + "/state HTTP/1.1\r\nHost: " + c.host + "\r\n\r\n", "404"},
		{"GET /" + secret + "/state HTTP/1.1\r\nHost: " + c.host + "\r\nX: " + strings.Repeat("x", 40<<10) + "\r\n\r\n", "431"},
	} {
		conn, err := net.Dial("tcp4", c.host)
		require.NoError(t, err)
		require.NoError(t, conn.SetDeadline(time.Now().Add(5*time.Second)))
		_, err = io.WriteString(conn, tc.text)
		require.NoError(t, err)
		line, err := bufio.NewReader(conn).ReadString('\n')
		require.NoError(t, err)
		assert.Contains(t, line, " "+tc.want+" ", fmt.Sprintf("%.60q", tc.text))
		require.NoError(t, conn.Close())
	}
}
