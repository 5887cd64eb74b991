package app

import (
	"context"

	"github.com/a-h/templ"

	"rampside/internal/link"
	"rampside/web/billweb"
	"rampside/web/garageweb"
	"rampside/web/handoverweb"
	"rampside/web/ui"
	"rampside/web/yourcarweb"
)

// handing is what the pages of the handover stand on.
func (s Services) handing() handoverweb.Services {
	return handoverweb.Services{Hands: s.Hands, Cards: s.Cards, Photos: s.Photos, Links: s.Links}
}

// intervalsLink leads from the garage's page to when work is due again.
var intervalsLink = garageweb.Link{Path: handoverweb.IntervalsPath, Label: "When work is due again", What: "months and miles by operation, offered at the handover"}

// handoverView is the customer's copy of a handover.
func handoverView(kit *ui.Kit, s Services) yourcarweb.View {
	c := handoverweb.ForCustomer(kit, s.handing())
	return yourcarweb.View{
		Show: func(ctx context.Context, l link.Link) (yourcarweb.Shown, error) {
			title, body, err := c.Show(ctx, l)
			return yourcarweb.Shown{Title: title, Body: func(*ui.Form) templ.Component { return body }}, err
		},
		Paper: c.Paper,
	}
}

// billView is a bill as the customer sees it.
func billView(s Services) yourcarweb.View {
	c := billweb.ForCustomer(s.Bills)
	return yourcarweb.View{
		Show: func(ctx context.Context, l link.Link) (yourcarweb.Shown, error) {
			title, body, err := c.Show(ctx, l)
			return yourcarweb.Shown{Title: title, Body: func(*ui.Form) templ.Component { return body }}, err
		},
		Paper: c.Paper,
	}
}
