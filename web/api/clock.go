package api

import (
	"context"
	"net/http"

	"rampside/internal/actor"
	"rampside/internal/caution"
	"rampside/internal/clocking"
	"rampside/internal/jobcard"
)

// clockOn is a line in the address; most lines have no cautions to tell of.
type clockOn struct {
	LineAt
	Body *ClockOnBody
}

// clockOperations are those that begin and end somebody's work.
func (a *API) clockOperations() {
	lineAct(a, "clock-on", "clock-on", "Clock on to a line, and off the one before",
		"It also signs whoever asks in to work. Where cautions of the line are unread, the answer is a 409 that names them: show them, and send their keys.",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *clockOn) (ClockedOn, error) {
			var read []caution.Key
			if in.Body != nil {
				read = in.Body.Read
			}
			c, err := a.Clocks.ClockOn(ctx, who, clocking.OnInput{LineID: line, Read: read})
			return ClockedOn(c), err
		})
	register(a, operation{
		method: http.MethodGet, path: "/lines/{line}/cautions", id: "get-line-cautions", need: actor.ReadCards, tag: "Work",
		short: "The cautions of a line, and which of them you have read",
	}, func(ctx context.Context, who actor.Actor, in *LineAt) (LineCautions, error) {
		c, err := a.Clocks.Cautions(ctx, who, in.Line)
		return LineCautions{
			CardID: c.CardID, LineID: in.Line, All: cautionsOf(caution.Of(c.All)), Read: list(c.Read, same), Unread: list(c.Unread(), same),
			Note: caution.Sentence,
		}, err
	})
	lineAct(a, "cautions-read", "read-cautions", "Put on record that you have read cautions of a line", "",
		func(ctx context.Context, who actor.Actor, line jobcard.LineID, in *lineWith[ReadBody]) (Changed, error) {
			return changedOf(a.Clocks.ReadCautions(ctx, who, clocking.ReadInput{LineID: line, Cautions: in.Body.Cautions}))
		})
	register(a, operation{
		method: http.MethodPost, path: "/clock-off", id: "clock-off", need: actor.Work, tag: "Work",
		short: "Clock off whatever you are on",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (ClockedOff, error) {
		c, err := a.Clocks.ClockOff(ctx, who, clocking.OffInput{})
		return ClockedOff(c), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/go-home", id: "go-home", need: actor.Work, tag: "Work",
		short: "Clock off and sign out of work",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (ClockedOff, error) {
		c, err := a.Clocks.GoHome(ctx, who, clocking.OffInput{})
		return ClockedOff(c), err
	})
	register(a, operation{
		method: http.MethodPost, path: "/arrive", id: "arrive", need: actor.Work, tag: "Work",
		short: "Sign in to work, from now", long: "Nothing changes when you are in already.",
	}, func(ctx context.Context, who actor.Actor, _ *Nothing) (Attendance, error) {
		t, err := a.Roster.Arrive(ctx, who)
		return attendanceOf(t), err
	})
}
