// Package ui is what every page is made with: the frame, the parts of a
// form, the margin marks, the reader of posted forms, sign-in, and the adapter
// that lets a handler simply return an error.
//
// A page is three things. Its route says who may:
//
//	func Routes(kit *ui.Kit, r chi.Router, cards *jobcard.Service) {
//		p := pages{kit, cards}
//		kit.Get(r, "/cards/{card}", actor.ReadCards, p.card)
//		kit.Post(r, "/cards/{card}/promise", actor.EditCard, p.promise)
//	}
//
// Its handler returns what went wrong instead of writing it:
//
//	func (p pages) promise(w http.ResponseWriter, r *http.Request) error {
//		id, err := ui.PathID[jobcard.ID](r, "card")
//		if err != nil {
//			return err
//		}
//		who, err := ui.Writer(r)
//		if err != nil {
//			return err
//		}
//		f := ui.ReadForm(r)
//		at := f.When("at", p.zone(r.Context()))
//		if f.Err() == nil {
//			err := p.cards.Promise(r.Context(), who, id, f.Version(), at)
//			if err == nil {
//				p.kit.Flash(w, "Promise noted")
//				return ui.SeeOther(w, r, "/cards/"+ui.Itoa(id))
//			}
//			if !f.Take(err) {
//				return err
//			}
//		}
//		page := p.kit.Page(r, "Promise a time", "/diary")
//		return p.kit.Render(w, r, http.StatusUnprocessableEntity, promiseForm(page, f))
//	}
//
// And its template computes nothing:
//
//	templ promiseForm(page ui.PageData, f *ui.Form) {
//		@ui.Page(page) {
//			<form method="post">
//				@ui.Key()
//				@ui.Version(f.Version())
//				@ui.Problems(f)
//				@ui.Field(f.Field("at", "Ready by").Kind("datetime-local").Must())
//				@ui.Button("Promise it")
//			</form>
//		}
//	}
//
// The runnable version of this pattern is in example_test.go.
package ui
