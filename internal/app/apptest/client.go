package apptest

import (
	"bytes"
	"crypto/rand"
	"io"
	"mime/multipart"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"strings"
	"testing"

	"github.com/PuerkitoBio/goquery"

	"rampside/internal/account"
	"rampside/internal/actor"
	"rampside/internal/jobcard/cardtest"
)

// Client is somebody's browser without scripts. It follows no redirect, and
// may be used from several goroutines.
type Client struct {
	*http.Client
	base  string
	token string // of a program
	t     testing.TB
}

// Answer is what the server said.
type Answer struct {
	Status   int
	Location string
	Header   http.Header
	Body     string
}

// Page reads the answer as HTML.
func (a Answer) Page() *goquery.Document {
	doc, err := goquery.NewDocumentFromReader(strings.NewReader(a.Body))
	if err != nil {
		panic(err) // a reader of a string does not fail
	}
	return doc
}

// Says gives the words of a page, for messages of tests.
func (a Answer) Says() string {
	words := strings.Join(strings.Fields(a.Page().Find("main").Text()), " ")
	if len(words) > 300 {
		words = words[:300] + "…"
	}
	return words
}

// Nobody is a browser at which nobody is signed in.
func (s *Site) Nobody() *Client {
	s.t.Helper()
	jar, err := cookiejar.New(nil)
	s.ok(err)
	return &Client{base: s.At, t: s.t, Client: &http.Client{
		Jar: jar, Transport: s.shared.line,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}}
}

// SignIn is a browser at which somebody of the garage signed in, by the form.
func (s *Site) SignIn(who actor.Actor) *Client {
	s.t.Helper()
	s.Secret(who)
	c := s.Nobody()
	a := c.Post("/sign-in", url.Values{"sign_in": {SignInName(who)}, "password": {cardtest.Password}})
	if a.Status != http.StatusSeeOther {
		s.t.Fatalf("%s signs in: %d %s", who.Name, a.Status, a.Says())
	}
	return c
}

// On is the same browser, cookies and all, at another server of the site.
func (c *Client) On(s *Site) *Client {
	return &Client{base: s.At, t: s.t, Client: c.Client, token: c.token}
}

// Program is a program with a token of somebody's rights.
func (s *Site) Program(who actor.Actor) *Client {
	s.t.Helper()
	made, err := s.Services.Accounts.CreateToken(s.t.Context(), s.Owner, account.NewToken{Name: "test " + Key()[:8], StaffID: who.StaffID})
	s.ok(err)
	c := s.Nobody()
	c.token = made.Secret
	return c
}

// Token is what a program presents.
func (c *Client) Token() string { return c.token }

// Key makes a key of a form, one that was never used.
func Key() string { return rand.Text() }

// Get asks for a page.
func (c *Client) Get(path string) Answer { return c.Send(c.Request(http.MethodGet, path, nil)) }

// Post sends a form as it is given.
func (c *Client) Post(path string, form url.Values) Answer {
	r := c.Request(http.MethodPost, path, strings.NewReader(form.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	return c.Send(r)
}

// File is what is attached to a form.
type File struct {
	Field, Name string
	Content     []byte
}

// PostMultipart sends a form with files.
func (c *Client) PostMultipart(path string, form url.Values, files ...File) Answer {
	kind, body := Multipart(c.t, form, files...)
	r := c.Request(http.MethodPost, path, bytes.NewReader(body))
	r.Header.Set("Content-Type", kind)
	return c.Send(r)
}

// Multipart writes a form with files, and gives its content type (RFC 7578).
func Multipart(t testing.TB, form url.Values, files ...File) (contentType string, body []byte) {
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	ok := func(err error) {
		if err != nil {
			t.Error(err)
		}
	}
	for name, values := range form {
		for _, v := range values {
			ok(w.WriteField(name, v))
		}
	}
	for _, f := range files {
		part, err := w.CreateFormFile(f.Field, f.Name)
		ok(err)
		_, err = part.Write(f.Content)
		ok(err)
	}
	ok(w.Close())
	return w.FormDataContentType(), b.Bytes()
}

// Request makes a request to the server, to be sent with Send. The path goes
// out as it is written.
func (c *Client) Request(method, path string, body io.Reader) *http.Request {
	r, err := http.NewRequestWithContext(c.t.Context(), method, c.base+path, body)
	if err != nil {
		c.t.Errorf("%s %q: %v", method, path, err)
		r, _ = http.NewRequest(method, c.base+"/unwritable", nil)
	}
	if c.token != "" {
		r.Header.Set("Authorization", "Bearer "+c.token)
	}
	return r
}

// Send sends a request. Without an answer the status is 0, and the test has
// failed.
func (c *Client) Send(r *http.Request) Answer {
	res, err := c.Do(r)
	if err != nil {
		c.t.Errorf("%s %s: %v", r.Method, r.URL, err)
		return Answer{Header: http.Header{}}
	}
	defer func() { _ = res.Body.Close() }()
	body, err := io.ReadAll(res.Body)
	if err != nil {
		c.t.Errorf("%s %s: %v", r.Method, r.URL, err)
	}
	return Answer{res.StatusCode, res.Header.Get("Location"), res.Header, string(body)}
}
