package blob

import (
	"crypto/md5"
	"crypto/tls"
	"encoding/base64"
	"encoding/hex"
	"encoding/xml"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

const (
	testBucket = "garage-photos"
	testAccess = "DESKANDRAMP"
	testSecret = "only+for/this+test"
)

// s3Server is as much of the Amazon S3 API Reference as the store uses: PUT,
// GET, HEAD and DELETE of an object, ListObjectsV2 page by page, its error
// codes, signatures and Content-MD5. It shows that the store asks rightly. It
// does not show how a given service behaves beyond that text: how soon it
// agrees with itself, what its rights are called, or what it does under load.
type s3Server struct {
	http *httptest.Server

	mu      sync.Mutex
	objects map[string][]byte
	seen    map[string]int // requests that were let in, by method
	fail    int            // answer so many requests with 503
	cut     bool           // send half of every object
	flip    bool           // send every object with one bit wrong
	deny    string         // answer this method with 403
	strict  bool           // answer a DELETE of what is not there with 404, as some services do
}

func newS3Server(t *testing.T, secure bool) *s3Server {
	t.Helper()
	s := &s3Server{objects: map[string][]byte{}, seen: map[string]int{}}
	s.http = httptest.NewUnstartedServer(s)
	if secure {
		s.http.StartTLS()
	} else {
		s.http.Start()
	}
	t.Cleanup(s.http.Close)
	return s
}

// address is what a person would configure for the server.
func (s *s3Server) address(prefix string) string {
	_, host, _ := strings.Cut(s.http.URL, "://")
	plain := s.http.TLS == nil
	return fmt.Sprintf("s3://%s/%s?endpoint=%s&region=eu-west-2&insecure=%t", testBucket, strings.ReplaceAll(prefix, " ", "%20"), host, plain)
}

func (s *s3Server) open(t *testing.T, prefix string) *S3 {
	t.Helper()
	at, err := parseS3(s.address(prefix))
	if err != nil {
		t.Fatal(err)
	}
	transport := &http.Transport{}
	if s.http.TLS != nil {
		transport.TLSClientConfig = &tls.Config{RootCAs: s.http.Client().Transport.(*http.Transport).TLSClientConfig.RootCAs}
	}
	store, err := openS3(at, Creds{AccessKey: testAccess, SecretKey: testSecret}, transport)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	return store
}

// with changes the server's state between requests.
func (s *s3Server) with(f func()) {
	s.mu.Lock()
	defer s.mu.Unlock()
	f()
}

func (s *s3Server) set(name string, data []byte) { s.with(func() { s.objects[name] = data }) }

func (s *s3Server) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.fail > 0 {
		s.fail--
		refuse(w, r, http.StatusServiceUnavailable, "SlowDown")
		return
	}
	sig, err := verifySigV4(r, testSecret)
	if err != nil || !strings.Contains(r.Header.Get("Authorization"), "Credential="+testAccess+"/") {
		refuse(w, r, http.StatusForbidden, "SignatureDoesNotMatch")
		return
	}
	if s.deny == r.Method {
		refuse(w, r, http.StatusForbidden, "AccessDenied")
		return
	}
	s.seen[r.Method]++
	name, ok := strings.CutPrefix(r.URL.Path, "/"+testBucket+"/")
	switch data, found := s.objects[name]; {
	case !ok:
		refuse(w, r, http.StatusNotFound, "NoSuchBucket")
	case r.Method == http.MethodPut:
		s.put(w, r, name, sig)
	case r.Method == http.MethodGet && name == "":
		s.list(w, r)
	case r.Method == http.MethodDelete && (found || !s.strict):
		delete(s.objects, name)
		w.WriteHeader(http.StatusNoContent)
	case !found:
		refuse(w, r, http.StatusNotFound, "NoSuchKey")
	default:
		s.get(w, r, data)
	}
}

func refuse(w http.ResponseWriter, r *http.Request, status int, code string) {
	w.Header().Set("Content-Type", "application/xml")
	w.WriteHeader(status)
	if r.Method != http.MethodHead {
		fmt.Fprintf(w, "<Error><Code>%s</Code><Message>%s</Message></Error>", code, code)
	}
}

func (s *s3Server) put(w http.ResponseWriter, r *http.Request, name string, sig *signed) {
	var data []byte
	var err error
	switch kind := r.Header.Get("X-Amz-Content-Sha256"); kind {
	case streamedPayload:
		data, err = sig.readChunks(r.Body)
		if want := r.Header.Get("X-Amz-Decoded-Content-Length"); err == nil && strconv.Itoa(len(data)) != want {
			err = fmt.Errorf("%d bytes, not %s", len(data), want)
		}
	default:
		data, err = io.ReadAll(r.Body)
		if err == nil && kind != hexSHA256(data) && (kind != unsignedPayload || r.TLS == nil) {
			err = fmt.Errorf("the payload is not %s", kind)
		}
	}
	if err != nil {
		refuse(w, r, http.StatusForbidden, "SignatureDoesNotMatch")
		return
	}
	sum := md5.Sum(data)
	if r.Header.Get("Content-Md5") != base64.StdEncoding.EncodeToString(sum[:]) {
		refuse(w, r, http.StatusBadRequest, "BadDigest")
		return
	}
	s.objects[name] = data
	w.Header().Set("ETag", `"`+hex.EncodeToString(sum[:])+`"`)
}

func (s *s3Server) get(w http.ResponseWriter, r *http.Request, data []byte) {
	h := w.Header()
	sum := md5.Sum(data)
	h.Set("ETag", `"`+hex.EncodeToString(sum[:])+`"`)
	h.Set("Last-Modified", "Wed, 07 Oct 2026 08:00:00 GMT")
	h.Set("Content-Type", "application/octet-stream")
	h.Set("Content-Length", strconv.Itoa(len(data)))
	if r.Method == http.MethodHead {
		return
	}
	if s.flip {
		data = slices.Clone(data)
		data[len(data)/2] ^= 4
	}
	if s.cut {
		data = data[:len(data)/2]
	}
	w.Write(data)
}

func (s *s3Server) list(w http.ResponseWriter, r *http.Request) {
	q := r.URL.Query()
	if q.Get("list-type") != "2" {
		refuse(w, r, http.StatusNotImplemented, "NotImplemented")
		return
	}
	type object struct {
		Key          string
		Size         int
		LastModified string
	}
	var page struct {
		XMLName               xml.Name `xml:"ListBucketResult"`
		Name, EncodingType    string
		IsTruncated           bool
		NextContinuationToken string
		Contents              []object
	}
	page.Name, page.EncodingType = testBucket, q.Get("encoding-type")
	var names []string
	for name := range s.objects {
		if strings.HasPrefix(name, q.Get("prefix")) && name > q.Get("continuation-token") {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	const most = 25 // the real services give 1,000 a page
	if len(names) > most {
		names = names[:most]
		page.IsTruncated, page.NextContinuationToken = true, names[most-1]
	}
	for _, name := range names {
		key := name
		if page.EncodingType == "url" {
			key = awsEscape(name)
		}
		page.Contents = append(page.Contents, object{key, len(s.objects[name]), "2026-10-07T08:00:00.000Z"})
	}
	w.Header().Set("Content-Type", "application/xml")
	xml.NewEncoder(w).Encode(page)
}
