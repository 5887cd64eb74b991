package paper

import "io"

// Write sets the quote.
func (q Quote) Write(w io.Writer) error { return write(w, q.Top, title(q.Kind, q.Number), q.body) }

// Write sets the bill.
func (b Bill) Write(w io.Writer) error { return write(w, b.Top, title(b.Kind, b.Number), b.body) }

// Write sets the statement.
func (s Statement) Write(w io.Writer) error {
	return write(w, s.Top, title("Statement", s.Period), s.body)
}

// Write sets the order.
func (o Order) Write(w io.Writer) error { return write(w, o.Top, title("Order", o.Number), o.body) }

// Write sets the handover.
func (h Handover) Write(w io.Writer) error {
	return write(w, h.Top, title("Handover of card", h.Number), h.body)
}

// Write sets the card.
func (c JobCard) Write(w io.Writer) error { return write(w, c.Top, title("Card", c.Number), c.body) }

func title(kind, number string) string {
	if number == "" {
		return kind
	}
	return kind + " " + number
}

func write(w io.Writer, top Top, name string, body func(*sheet)) error {
	s := newSheet(top, name)
	s.head()
	body(s)
	b, err := s.bytes()
	if err != nil {
		return err
	}
	_, err = w.Write(b)
	return err
}
