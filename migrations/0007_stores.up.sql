-- Stores: what is ordered from whom, what came and what goes back, and the shelf.
begin;

-- When a card's part came, whoever noted it and on whichever page.
alter table part add column arrived_at timestamptz;

-- The shelf: what the garage keeps for cards to come.
create table stock_item (
    id          bigint generated always as identity constraint stock_item_pk primary key,
    name        text not null constraint stock_item_name_given check (name <> ''),
    number      text not null default '',
    supplier_id bigint constraint stock_item_supplier_fk references supplier,
    place       text not null default '',
    unit        text not null default 'each' constraint stock_item_unit_known check (unit in ('each', 'litre', 'metre', 'kilogram', 'pair', 'set')),
    -- Below so many it is on the list of what to order, to be filled up to so many.
    least_milli bigint not null default 0 constraint stock_item_least_range check (least_milli between 0 and 100000000),
    fill_milli  bigint not null default 0 constraint stock_item_fill_range check (fill_milli between 0 and 100000000),
    -- What one is thought to cost, net: what an order counts on.
    cost_minor  bigint not null default 0 constraint stock_item_cost_range check (cost_minor between 0 and 100000000),
    active      boolean not null default true,
    version     integer not null default 1,
    constraint stock_item_name_once unique (name),
    constraint stock_item_fill_order check (fill_milli >= least_milli)
);
-- Any spelling of a number leads to one item.
create unique index stock_item_number_once on stock_item (number_key(number)) where number_key(number) <> '';

-- An order to one supplier.
create table purchase (
    id          bigint generated always as identity (start with 501) constraint purchase_pk primary key,
    supplier_id bigint not null constraint purchase_supplier_fk references supplier,
    how         text not null constraint purchase_how_known check (how in ('by phone', 'by e-mail', 'on their site', 'at the counter')),
    their_ref   text not null default '',
    note        text not null default '',
    due_at      timestamptz not null,
    ordered_at  timestamptz not null,
    ordered_by  bigint constraint purchase_staff_fk references staff
);
create index purchase_supplier_idx on purchase (supplier_id, ordered_at);
create index purchase_ordered_idx on purchase (ordered_at);

-- One line of an order, for a card's part or for the shelf.
create table purchase_line (
    id              bigint generated always as identity constraint purchase_line_pk primary key,
    purchase_id     bigint not null constraint purchase_line_purchase_fk references purchase,
    part_id         bigint constraint purchase_line_part_fk references part,
    item_id         bigint constraint purchase_line_item_fk references stock_item,
    name            text not null constraint purchase_line_name_given check (name <> ''),
    number          text not null default '',
    qty_milli       bigint not null constraint purchase_line_qty_range check (qty_milli between 1 and 100000000),
    cost_minor      bigint not null default 0 constraint purchase_line_cost_range check (cost_minor between 0 and 100000000),
    -- Charged for each exchange unit until the old one is back with the supplier.
    surcharge_minor bigint not null default 0 constraint purchase_line_surcharge_range check (surcharge_minor between 0 and 100000000),
    back_by         date,
    -- What the supplier said first: the record of being late is kept against it.
    due_at          timestamptz not null,
    -- What they say now, where that is another time.
    now_due_at      timestamptz,
    came_milli      bigint not null default 0,
    -- When the last of it was here.
    arrived_at      timestamptz,
    closed          text constraint purchase_line_closed_known check (closed in ('cancelled', 'never came')),
    closed_note     text not null default '',
    closed_at       timestamptz,
    version         integer not null default 1,
    constraint purchase_line_for_one check (num_nonnulls(part_id, item_id) = 1),
    constraint purchase_line_came_range check (came_milli between 0 and qty_milli),
    constraint purchase_line_arrived_whole check ((came_milli = qty_milli) = (arrived_at is not null)),
    constraint purchase_line_closed_dated check ((closed is null) = (closed_at is null)),
    constraint purchase_line_not_both check (closed is null or arrived_at is null)
);
create index purchase_line_purchase_idx on purchase_line (purchase_id);
create index purchase_line_open_idx on purchase_line (id) where arrived_at is null and closed is null;
create index purchase_line_number_idx on purchase_line (number_key(number)) where number <> '';
create index purchase_line_item_idx on purchase_line (item_id) where item_id is not null;
create index purchase_line_part_idx on purchase_line (part_id) where part_id is not null;
-- A part is on one open order at a time.
create unique index purchase_line_part_once on purchase_line (part_id) where part_id is not null and arrived_at is null and closed is null;

-- What came, as it was found when it was booked in.
create table arrival (
    id               bigint generated always as identity constraint arrival_pk primary key,
    purchase_line_id bigint not null constraint arrival_line_fk references purchase_line,
    qty_milli        bigint not null constraint arrival_qty_range check (qty_milli between 1 and 100000000),
    found            text not null constraint arrival_found_known check (found in ('right', 'wrong', 'faulty')),
    number           text not null default '',
    note             text not null default '',
    by_staff         bigint constraint arrival_staff_fk references staff,
    at               timestamptz not null
);
create index arrival_line_idx on arrival (purchase_line_id, id);
create trigger arrival_only_grows before update or delete on arrival for each row execute function refuse_change();
create trigger arrival_never_emptied before truncate on arrival for each statement execute function refuse_change();

-- What goes back to a supplier, and the money that is to come for it.
create table part_return (
    id               bigint generated always as identity constraint part_return_pk primary key,
    supplier_id      bigint not null constraint part_return_supplier_fk references supplier,
    -- The card's part that goes back; absent for what never was on a card.
    part_id          bigint constraint part_return_part_fk references part,
    purchase_line_id bigint constraint part_return_line_fk references purchase_line,
    kind             text not null constraint part_return_kind_known check (kind in ('wrong', 'faulty', 'not needed', 'exchange unit')),
    name             text not null constraint part_return_name_given check (name <> ''),
    number           text not null default '',
    qty_milli        bigint not null constraint part_return_qty_range check (qty_milli between 1 and 100000000),
    why              text not null constraint part_return_why_given check (why <> ''),
    expected_minor   bigint not null constraint part_return_expected_range check (expected_minor between 0 and 99999999999),
    send_by          date,
    sent_at          timestamptz,
    sent_how         text not null default '',
    made_at          timestamptz not null,
    made_by          bigint constraint part_return_staff_fk references staff,
    -- Nothing more is to come; why, where less came than was expected.
    settled_at       timestamptz,
    settled_why      text not null default '',
    version          integer not null default 1
);
create unique index part_return_part_once on part_return (part_id) where part_id is not null;
create index part_return_open_idx on part_return (supplier_id) where settled_at is null;
create index part_return_settled_idx on part_return (settled_at) where settled_at is not null;

-- Each credit that came, as it came.
create table part_credit (
    id           bigint generated always as identity constraint part_credit_pk primary key,
    return_id    bigint not null constraint part_credit_return_fk references part_return,
    amount_minor bigint not null constraint part_credit_amount_range check (amount_minor between 1 and 99999999999),
    -- The day on the supplier's credit note.
    day          date not null,
    their_ref    text not null default '',
    by_staff     bigint constraint part_credit_staff_fk references staff,
    at           timestamptz not null
);
create index part_credit_return_idx on part_credit (return_id, id);
create trigger part_credit_only_grows before update or delete on part_credit for each row execute function refuse_change();
create trigger part_credit_never_emptied before truncate on part_credit for each statement execute function refuse_change();

-- What came on to the shelf at one time, at what it cost altogether; the oldest
-- is used first. What is left is never below nothing, and nothing is worth nothing.
create table stock_lot (
    id               bigint generated always as identity constraint stock_lot_pk primary key,
    item_id          bigint not null constraint stock_lot_item_fk references stock_item,
    purchase_line_id bigint constraint stock_lot_line_fk references purchase_line,
    qty_milli        bigint not null constraint stock_lot_qty_range check (qty_milli between 1 and 100000000),
    cost_minor       bigint not null constraint stock_lot_cost_range check (cost_minor between 0 and 99999999999),
    left_milli       bigint not null,
    left_minor       bigint not null,
    note             text not null default '',
    got_at           timestamptz not null,
    got_by           bigint constraint stock_lot_staff_fk references staff,
    constraint stock_lot_left_range check (left_milli between 0 and qty_milli),
    constraint stock_lot_value_range check (left_minor between 0 and cost_minor),
    constraint stock_lot_empty_is_worth_nothing check (left_milli > 0 or left_minor = 0)
);
create index stock_lot_item_idx on stock_lot (item_id, id);

-- A stock take: what was counted against what there should have been.
create table stock_count (
    id            bigint generated always as identity constraint stock_count_pk primary key,
    item_id       bigint not null constraint stock_count_item_fk references stock_item,
    was_milli     bigint not null constraint stock_count_was_range check (was_milli >= 0),
    counted_milli bigint not null constraint stock_count_counted_range check (counted_milli between 0 and 100000000),
    reason        text not null default '',
    by_staff      bigint constraint stock_count_staff_fk references staff,
    at            timestamptz not null,
    constraint stock_count_difference_explained check (was_milli = counted_milli or reason <> '')
);
create index stock_count_item_idx on stock_count (item_id, id);
create trigger stock_count_only_grows before update or delete on stock_count for each row execute function refuse_change();
create trigger stock_count_never_emptied before truncate on stock_count for each statement execute function refuse_change();

-- Every movement of a lot: in above nothing, out below it.
create table stock_move (
    id         bigint generated always as identity constraint stock_move_pk primary key,
    lot_id     bigint not null constraint stock_move_lot_fk references stock_lot,
    kind       text not null constraint stock_move_kind_known check (kind in ('in', 'used', 'put back', 'counted short', 'counted over')),
    qty_milli  bigint not null,
    cost_minor bigint not null,
    part_id    bigint constraint stock_move_part_fk references part,
    count_id   bigint constraint stock_move_count_fk references stock_count,
    by_staff   bigint constraint stock_move_staff_fk references staff,
    at         timestamptz not null,
    constraint stock_move_way check (case when kind in ('used', 'counted short') then qty_milli < 0 and cost_minor <= 0 else qty_milli > 0 and cost_minor >= 0 end),
    constraint stock_move_used_on_a_part check ((kind in ('used', 'put back')) = (part_id is not null))
);
create index stock_move_lot_idx on stock_move (lot_id, id);
create index stock_move_part_idx on stock_move (part_id) where part_id is not null;
create trigger stock_move_only_grows before update or delete on stock_move for each row execute function refuse_change();
create trigger stock_move_never_emptied before truncate on stock_move for each statement execute function refuse_change();

commit;
