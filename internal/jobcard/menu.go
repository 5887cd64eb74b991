package jobcard

import (
	"context"
	"fmt"
	"slices"

	"rampside/internal/actor"
	"rampside/internal/apperr"
	"rampside/internal/change"
	"rampside/internal/money"
)

// MenuTerms is one price, net, for several lines together.
type MenuTerms struct {
	What  string
	Net   money.Minor
	Lines []LineID
}

func (t *MenuTerms) clean(f apperr.Fields) {
	t.What = f.Line("what", t.What, MaxShort)
	f.Must("what", t.What, "the menu a name")
	if t.Net < 0 || t.Net > maxPrice {
		f.Add("net", "a price lies between 0 and %s", money.FormatPlain(maxPrice))
	}
	slices.Sort(t.Lines)
	t.Lines = slices.Compact(t.Lines)
	if len(t.Lines) == 0 || len(t.Lines) > MaxLines {
		f.Add("lines", "tick the lines that the price is for")
	}
}

// MenuInput puts one price on lines of a card.
type MenuInput struct {
	CardID CardID
	MenuTerms
}

// AddMenu puts one price on lines of a card, with their parts and fees. A line
// is in one menu only and has no discount of its own. Messages are at what,
// net and lines.
func (s *Service) AddMenu(ctx context.Context, who actor.Actor, in MenuInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.MenuTerms.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "add menu", in, thisCard(in.CardID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		if len(x.Menus) >= extrasMax {
			return Changed{}, apperr.Field("what", "a card has at most %d menus", extrasMax)
		}
		var id MenuID
		err := tx.QueryRow(ctx, `insert into card_menu (card_id, what, net_minor, made_by, made_at)
			values ($1, $2, $3, nullif($4::bigint, 0), $5) returning id`, c.ID, in.What, in.Net, tx.Who.StaffID, tx.At).Scan(&id)
		if err != nil {
			return Changed{}, fmt.Errorf("add menu: %w", err)
		}
		tx.Record("menu added", int64(c.ID), in.What, map[string]any{"menu": id, "net": in.Net, "lines": in.Lines})
		return Changed{ExtraID: int64(id), Version: 1}, putMenuLines(ctx, tx, c, x, id, in.MenuTerms)
	})
}

// putMenuLines writes the lines of a menu, and refuses a price that cannot be
// put on them.
func putMenuLines(ctx context.Context, tx *change.Tx, c Card, x Extras, id MenuID, t MenuTerms) error {
	if err := linesOn(ctx, tx, c.ID, t.Lines); err != nil {
		return err
	}
	for _, l := range t.Lines {
		if m, ok := x.MenuOf(l); ok && m.ID != id {
			return apperr.Field("lines", "one of these lines is in the menu price “%s” already", m.What)
		}
		if slices.ContainsFunc(x.AdjustmentsOf(l), func(a Adjustment) bool { return !a.Struck() }) {
			return apperr.Field("lines", "one of these lines has a discount or surcharge of its own: strike that out first")
		}
	}
	if _, err := tx.Exec(ctx, `insert into card_menu_line (menu_id, card_id, line_id) select $1, $2, unnest($3::bigint[])`, id, c.ID, t.Lines); err != nil {
		return fmt.Errorf("lines of the menu: %w", err)
	}
	p, err := LoadPriced(ctx, tx, c.ID)
	if err != nil {
		return err
	}
	for _, m := range p.Menus {
		if m.Key == key("menu", int64(id)) && m.Broken != "" {
			return apperr.Field("net", "this price cannot be put on these lines: %s", m.Broken)
		}
	}
	return nil
}

// EditMenuInput changes a menu.
type EditMenuInput struct {
	ID      MenuID
	Version int
	MenuTerms
}

const cardOfMenu = `select card_id from card_menu where id = $1`

// EditMenu changes a menu in place. A stale version gives a Conflict with the
// Menu as it stands.
func (s *Service) EditMenu(ctx context.Context, who actor.Actor, in EditMenuInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	f := apperr.Fields{}
	in.MenuTerms.clean(f)
	if err := f.Err(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "edit menu", in, cardOf("menu", cardOfMenu, in.ID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		m, err := x.menu(in.ID, in.Version)
		if err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update card_menu set what = $2, net_minor = $3, version = version + 1 where id = $1`, m.ID, in.What, in.Net); err != nil {
			return Changed{}, fmt.Errorf("edit menu: %w", err)
		}
		if _, err := tx.Exec(ctx, `delete from card_menu_line where menu_id = $1`, m.ID); err != nil {
			return Changed{}, fmt.Errorf("lines of the menu: %w", err)
		}
		tx.Record("menu changed", int64(c.ID), in.What, map[string]any{"menu": m.ID, "net": in.Net, "net was": m.Net, "lines": in.Lines, "lines were": m.Lines})
		return Changed{ExtraID: int64(m.ID), Version: m.Version + 1}, putMenuLines(ctx, tx, c, x, m.ID, in.MenuTerms)
	})
}

func (x Extras) menu(id MenuID, version int) (Menu, error) {
	i := slices.IndexFunc(x.Menus, func(m Menu) bool { return m.ID == id })
	switch {
	case i < 0:
		return Menu{}, apperr.NoSuch("menu")
	case x.Menus[i].Version != version:
		return Menu{}, apperr.Stale("menu", x.Menus[i])
	case x.Menus[i].Struck():
		return Menu{}, apperr.New(apperr.Conflict, "this menu has been struck out")
	}
	return x.Menus[i], nil
}

// StrikeMenu strikes a menu out, with the reason: its lines cost what they
// cost by themselves, and are asked again where that is more.
func (s *Service) StrikeMenu(ctx context.Context, who actor.Actor, in StrikeExtraInput) (Changed, error) {
	if err := who.Need(actor.EditCard); err != nil {
		return Changed{}, err
	}
	if err := in.clean(); err != nil {
		return Changed{}, err
	}
	return s.priceChange(ctx, who, "strike menu", in, cardOf("menu", cardOfMenu, in.ID), func(ctx context.Context, tx *change.Tx, c Card, x Extras) (Changed, error) {
		m, err := x.menu(MenuID(in.ID), in.Version)
		if err != nil {
			return Changed{}, err
		}
		if _, err := tx.Exec(ctx, `update card_menu set struck_at = $2, struck_reason = $3, version = version + 1 where id = $1`,
			m.ID, tx.At, in.Reason); err != nil {
			return Changed{}, fmt.Errorf("strike menu: %w", err)
		}
		tx.Record("menu struck out", int64(c.ID), m.What, map[string]any{"menu": m.ID, "reason": in.Reason})
		return Changed{ExtraID: in.ID, Version: m.Version + 1}, nil
	})
}
