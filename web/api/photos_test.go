package api

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/jpeg"
	"mime/multipart"
	"net/http"
	"testing"

	"rampside/internal/jobcard"
	"rampside/internal/picture"
)

// jpegOf is a small photo.
func jpegOf(t *testing.T) []byte {
	t.Helper()
	m := image.NewRGBA(image.Rect(0, 0, 40, 30))
	for x := range 40 {
		for y := range 30 {
			m.Set(x, y, color.RGBA{uint8(6 * x), uint8(8 * y), 90, 255})
		}
	}
	var b bytes.Buffer
	if err := jpeg.Encode(&b, m, nil); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// photo sends a photo as a program would.
func (s *site) photo(who string, line jobcard.LineID, caption string, data []byte, headers ...string) reply {
	s.t.Helper()
	var b bytes.Buffer
	w := multipart.NewWriter(&b)
	s.OK(w.WriteField("caption", caption))
	f, err := w.CreateFormFile("photo", "../../etc/passwd.jpg")
	s.OK(err)
	_, err = f.Write(data)
	s.OK(err)
	s.OK(w.Close())
	return s.post(who, fmt.Sprintf("/lines/%d/photos", line), b.String(), append([]string{"Content-Type", w.FormDataContentType()}, headers...)...)
}

func TestAPhotoIsTakenShownAndStruckOut(t *testing.T) {
	s := newSite(t)
	c := s.book()
	line := c.Lines[0].ID
	data := jpegOf(t)
	key := []string{keyHeader, "photo-1"}
	first := s.photo("posy", line, "worn pads", data, key...)
	done := as[PhotoChanged](first, http.StatusCreated)
	if again := s.photo("posy", line, "worn pads", data, key...); again.Status != http.StatusCreated || !bytes.Equal(again.Raw, first.Raw) {
		t.Errorf("the same photo again: %d %s", again.Status, again.Raw)
	}
	s.photo("posy", line, "another caption", data, key...).problem(http.StatusConflict, "conflict")
	if n := s.count(`select count(*) from photo`); n != 1 {
		t.Fatalf("%d photos are noted", n)
	}
	at := fmt.Sprintf("/photos/%d", done.ID)
	if p := as[Photo](s.get("bram", at), http.StatusOK); p.Caption != "worn pads" || p.LineID != line || p.Width != 40 {
		t.Errorf("noted %+v", p)
	}
	for _, path := range []string{at + "/file", at + "/small"} {
		a := s.get("bram", path)
		if a.Status != http.StatusOK || a.Header.Get("Content-Type") != "image/jpeg" || a.Header.Get("X-Content-Type-Options") != "nosniff" {
			t.Fatalf("%s: %d %v", path, a.Status, a.Header)
		}
		if _, err := jpeg.Decode(bytes.NewReader(a.Raw)); err != nil {
			t.Errorf("%s: %v", path, err)
		}
		s.get("", path).problem(http.StatusUnauthorized, "unsigned")
	}
	if photos := s.card(c.ID).Photos; len(photos) != 1 || photos[0].ID != done.ID {
		t.Errorf("the card has %+v", photos)
	}
	s.post("bram", at+"/strike", nil).problem(http.StatusForbidden, "forbidden")
	as[PhotoChanged](s.post("posy", at+"/strike", nil), http.StatusOK)
	s.get("bram", at).problem(http.StatusNotFound, "not-found")
	s.get("bram", at+"/file").problem(http.StatusNotFound, "not-found")
}

func TestWhatIsNoPhotoIsRefused(t *testing.T) {
	s := newSite(t)
	line := s.book().Lines[0].ID
	path := fmt.Sprintf("/lines/%d/photos", line)
	for what, data := range map[string][]byte{
		"a page": []byte("<html><script>alert(1)</script>"), "nothing": {}, "half a photo": jpegOf(t)[:200],
		"a drawing": []byte(`<svg xmlns="http://www.w3.org/2000/svg"><script/></svg>`),
	} {
		if p := s.photo("posy", line, "", data).problem(http.StatusUnprocessableEntity, "invalid"); p.at("#/photo") == "" {
			t.Errorf("%s: %+v", what, p)
		}
	}
	big := append(jpegOf(t), make([]byte, picture.MaxBytes)...)
	s.photo("posy", line, "", big).problem(http.StatusRequestEntityTooLarge, "too-large")
	s.post("posy", path, obj{"photo": "x"}).problem(http.StatusUnsupportedMediaType, "unsupported-media-type")
	s.post("posy", path, "--x\r\nContent-Dispo", "Content-Type", "multipart/form-data; boundary=x").problem(http.StatusBadRequest, "malformed")
	s.post("posy", path, "--x\r\nContent-Disposition: form-data; name=\"caption\"\r\n\r\nhm\r\n--x--\r\n", "Content-Type", "multipart/form-data; boundary=x").
		problem(http.StatusUnprocessableEntity, "invalid")
	s.post("posy", path, "--x\r\nContent-Disposition: form-data; name=\"admin\"\r\n\r\nhm\r\n--x--\r\n", "Content-Type", "multipart/form-data; boundary=x").
		problem(http.StatusUnprocessableEntity, "invalid")
	if n := s.count(`select count(*) from photo`); n != 0 {
		t.Errorf("%d photos are noted", n)
	}
}
