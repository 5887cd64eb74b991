package quote_test

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"rampside/internal/jobcard"
	"rampside/internal/money"
	"rampside/internal/quote"
)

var (
	streams = regexp.MustCompile(`(?s)stream\r?\n(.*?)\r?\nendstream`)
	shown   = regexp.MustCompile(`(?s)\(((?:\\.|[^\\()])*)\)`)
)

// wordsOf reads the words of a PDF in the order they are drawn: strings of
// UTF-16 in its compressed pages (ISO 32000-1, 7.3.4 and 9.4.3).
func wordsOf(t *testing.T, pdf []byte) string {
	t.Helper()
	var out strings.Builder
	for _, m := range streams.FindAllSubmatch(pdf, -1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue
		}
		page, err := io.ReadAll(r)
		if err != nil || !bytes.Contains(page, []byte("BT")) {
			continue
		}
		for _, s := range shown.FindAllSubmatch(page, -1) {
			raw := unescape(s[1])
			if len(raw)%2 != 0 {
				continue
			}
			units := make([]uint16, len(raw)/2)
			for i := range units {
				units[i] = uint16(raw[2*i])<<8 | uint16(raw[2*i+1])
			}
			out.WriteString(string(utf16.Decode(units)) + " ")
		}
	}
	return strings.Join(strings.Fields(out.String()), " ")
}

func unescape(s []byte) []byte {
	var out []byte
	for i := 0; i < len(s); i++ {
		if s[i] != '\\' || i+1 == len(s) {
			out = append(out, s[i])
			continue
		}
		i++
		switch s[i] {
		case 'n':
			out = append(out, '\n')
		case 'r':
			out = append(out, '\r')
		case 't':
			out = append(out, '\t')
		default:
			out = append(out, s[i])
		}
	}
	return out
}

func TestThePaperSaysWhatTheVersionHolds(t *testing.T) {
	r := open(t)
	c := r.card()
	r.OK(r.exec(`update card set customer_words = 'It squeals when it is cold' where id = $1`, c.ID))
	r.OK(r.exec(`insert into finding (card_id, severity, what, measured, limit_value, proposed_line_id, at) values ($1, 'major', 'Pads thin', '2.1 mm', '1.5 mm', $2, $3)`,
		c.ID, c.Lines[0].ID, r.Clock))
	percent := money.Rate(1000)
	_, err := r.Cards.Adjust(t.Context(), r.Desk, jobcard.AdjustInput{CardID: c.ID, AdjustTerms: jobcard.AdjustTerms{What: "For the wait", Percent: &percent}})
	r.OK(err)
	m, err := r.quotes.Make(t.Context(), r.Desk, quote.MakeInput{
		CardID: c.ID, Kind: quote.Fixed, Note: "Ring us with any question.", IfWaits: map[jobcard.LineID]string{c.Lines[0].ID: "The discs wear out too."},
	})
	r.OK(err)
	v := r.read(m.VersionID)
	var b bytes.Buffer
	r.OK(v.Paper("https://jobs.garage.test/your-car/abc").Write(&b))
	text := wordsOf(t, b.Bytes())
	cur := v.Garage.Money()
	want := []string{
		"Fixed quotation 2001/1", "you pay the prices below and no more", "It squeals when it is cold", "Ring us with any question.",
		"Saltmarsh Lane Garage", "Odette Marlowe", "BD51 SMR", "Brisling Tern", "Monday 19 October 2026",
		cur.Format(v.Totals.Net), cur.Format(v.Totals.VAT), cur.Format(v.Totals.Gross),
		"Pads thin, measured 2.1 mm, limit 1.5 mm", "The discs wear out too.", "brought by you", "For the wait, 10% of " + cur.Format(v.LineNet),
	}
	for _, j := range v.Jobs {
		want = append(want, j.Title+": "+cur.Format(j.Gross)+" with VAT")
		for _, l := range j.Lines {
			want = append(want, cur.Format(l.Net))
		}
	}
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("the paper does not say %q", w)
		}
	}
	if t.Failed() {
		t.Log(text)
	}
	// Net 202.45 less a tenth (20.25, half up) is 182.20; VAT 36.44.
	if v.Totals.Net != 182_20 || v.Totals.VAT != 36_44 || v.Rest.Net != -20_25 {
		t.Errorf("%+v, the rest %v", v.Totals, v.Rest.Net)
	}
}
