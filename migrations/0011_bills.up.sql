-- Bills, credit notes and payments. What was issued is never changed: a bill is
-- corrected by a credit note, a payment by a contrary entry.
begin;

-- What stands on every bill of the garage besides its settings.
create table bill_terms (
    id              smallint not null default 1 constraint bill_terms_pk primary key constraint bill_terms_only_one check (id = 1),
    -- Days from issue until a bill is due; 0 is at once.
    pay_days        integer not null default 0 constraint bill_terms_days_range check (pay_days between 0 and 365),
    words           text not null default '',
    account_name    text not null default '',
    iban            text not null default '',
    bic             text not null default '',
    company_number  text not null default '',
    country         text not null default 'GB' constraint bill_terms_country_code check (country ~ '^[A-Z]{2}$'),
    -- Where electronic invoices come from: an address and its scheme (EAS).
    endpoint_scheme text not null default '',
    endpoint        text not null default '',
    -- The series that credit notes are numbered in: their own, or that of bills.
    credit_series   text not null default 'credit' constraint bill_terms_credit_known check (credit_series in ('credit', 'bill')),
    version         integer not null default 1
);
insert into bill_terms default values;

-- The last number given out in each series. The row is locked from the number
-- to the commit, so that a document that fails leaves no gap.
create table bill_series (
    name   text not null constraint bill_series_pk primary key constraint bill_series_known check (name in ('bill', 'credit', 'receipt')),
    prefix text not null constraint bill_series_prefix_form check (prefix ~ '^([A-Za-z0-9/-]{0,11}[A-Za-z/-])?$'),
    width  integer not null constraint bill_series_width_range check (width between 1 and 12),
    last   bigint not null default 0 constraint bill_series_last_range check (last >= 0),
    constraint bill_series_prefix_once unique (prefix)
);
insert into bill_series (name, prefix, width) values ('bill', 'B-', 5), ('credit', 'C-', 5), ('receipt', 'R-', 5);

-- A number is the one after the last, and never given back.
create function bill_series_counts() returns trigger language plpgsql as $$
begin
    if tg_op = 'DELETE' or new.last not in (old.last, old.last + 1) or new.name <> old.name
        or old.last > 0 and (new.prefix <> old.prefix or new.width <> old.width) then
        raise exception 'the series of numbers % goes on by one and is not changed once a number was given out', old.name
            using errcode = 'restrict_violation';
    end if;
    return new;
end $$;
create trigger bill_series_only_counts before update or delete on bill_series for each row execute function bill_series_counts();
create trigger bill_series_never_emptied before truncate on bill_series for each statement execute function refuse_change();

-- What a customer's bills need besides name and address.
create table bill_party (
    customer_id     bigint not null constraint bill_party_pk primary key constraint bill_party_customer_fk references customer,
    vat_number      text not null default '',
    -- What they want to find on a bill: an order number, a name.
    reference       text not null default '',
    country         text not null default 'GB' constraint bill_party_country_code check (country ~ '^[A-Z]{2}$'),
    endpoint_scheme text not null default '',
    endpoint        text not null default '',
    version         integer not null default 1
);

-- A line that was done without being agreed, and is not charged for.
create table no_charge (
    line_id  bigint not null constraint no_charge_pk primary key constraint no_charge_line_fk references line,
    reason   text not null constraint no_charge_reason_given check (reason <> ''),
    by_staff bigint constraint no_charge_staff_fk references staff,
    at       timestamptz not null
);

create table bill (
    id               bigint generated always as identity constraint bill_pk primary key,
    kind             text not null constraint bill_kind_known check (kind in ('bill', 'credit note')),
    series           text not null constraint bill_series_fk references bill_series,
    n                bigint not null constraint bill_n_range check (n >= 1),
    number           text not null constraint bill_number_once unique,
    form             text not null constraint bill_form_known check (form in ('full', 'simplified', 'credit note', 'without VAT')),
    card_id          bigint not null constraint bill_card_fk references card,
    customer_id      bigint not null constraint bill_customer_fk references customer,
    -- The bill that a credit note corrects, and what for.
    of_bill          bigint constraint bill_of_fk references bill,
    why              text not null default '',
    issued           date not null,
    tax_point        date not null,
    -- The day the work was finished.
    supplied         date not null,
    due              date not null,
    currency         text not null constraint bill_currency_code check (currency ~ '^[A-Z]{3}$'),
    rounding         text not null constraint bill_rounding_known
                     check (rounding in ('document', 'line', 'document down', 'line, tenths down', 'line, half pennies')),
    -- Whether the garage was registered for VAT.
    registered       boolean not null,
    seller_name      text not null constraint bill_seller_named check (seller_name <> ''),
    seller_address   text not null,
    seller_phone     text not null,
    seller_email     text not null,
    seller_vat       text not null,
    seller_company   text not null,
    seller_country   text not null,
    buyer_name       text not null constraint bill_buyer_named check (buyer_name <> ''),
    buyer_address    text not null,
    buyer_vat        text not null,
    buyer_reference  text not null,
    buyer_country    text not null,
    -- The car as it was then: mark, make and model, reading.
    car              text not null,
    words            text not null,
    account_name     text not null,
    iban             text not null,
    bic              text not null,
    line_net_minor   bigint not null,
    allowances_minor bigint not null,
    charges_minor    bigint not null,
    net_minor        bigint not null,
    vat_minor        bigint not null,
    gross_minor      bigint not null,
    -- Deposits that were set off when it was issued, VAT included.
    deposits_minor   bigint not null default 0,
    -- How many rows belong to it, so that none can be put in afterwards.
    lines            integer not null constraint bill_has_lines check (lines >= 1),
    line_adjusts     integer not null,
    adjusts          integer not null,
    vats             integer not null,
    issued_by        bigint constraint bill_staff_fk references staff,
    issued_name      text not null,
    issued_at        timestamptz not null,
    constraint bill_n_once unique (series, n),
    constraint bill_credit_of_a_bill check ((kind = 'credit note') = (of_bill is not null) and (kind = 'credit note') = (form = 'credit note' or form = 'without VAT' and of_bill is not null)),
    constraint bill_credit_with_reason check ((kind = 'credit note') = (why <> '')),
    constraint bill_net_adds_up check (net_minor = line_net_minor - allowances_minor + charges_minor),
    constraint bill_gross_adds_up check (gross_minor = net_minor + vat_minor),
    constraint bill_sign check (case kind when 'bill' then gross_minor >= 0 else gross_minor <= 0 end),
    constraint bill_deposits_range check (deposits_minor between 0 and greatest(gross_minor, 0)),
    constraint bill_without_vat check (registered or vat_minor = 0),
    constraint bill_simplified_limit check (form <> 'simplified' or currency <> 'GBP' or gross_minor <= 25000),
    constraint bill_due_order check (due >= issued)
);
create index bill_card_idx on bill (card_id);
create index bill_customer_idx on bill (customer_id, issued);
create index bill_of_idx on bill (of_bill) where of_bill is not null;
create index bill_issued_idx on bill (issued);
create index bill_tax_point_idx on bill (tax_point);
create index bill_number_trgm on bill using gin (lower(number) gin_trgm_ops);
create index bill_buyer_trgm on bill using gin (lower(buyer_name) gin_trgm_ops);
create index bill_car_trgm on bill using gin (lower(car) gin_trgm_ops);

create table bill_line (
    bill_id      bigint not null constraint bill_line_bill_fk references bill,
    position     integer not null,
    -- What of the card it is: line:12, part:34, sundries.
    key          text not null constraint bill_line_key_given check (key <> ''),
    line_id      bigint constraint bill_line_line_fk references line,
    part_id      bigint constraint bill_line_part_fk references part,
    kind         text not null,
    text         text not null constraint bill_line_text_given check (text <> ''),
    vat_code     text not null constraint bill_line_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'exempt', 'outside')),
    rate_bp      integer not null,
    -- Thousandths of a unit, of which per_milli cost price_minor.
    qty_milli    bigint not null,
    unit         text not null,
    price_minor  bigint not null,
    per_milli    bigint not null constraint bill_line_per_range check (per_milli > 0),
    -- The price by itself, and after the line's own adjustments.
    list_minor   bigint not null,
    net_minor    bigint not null,
    -- The price was agreed with VAT in it, so much of it.
    all_in       boolean not null,
    inside_minor bigint not null,
    constraint bill_line_pk primary key (bill_id, position),
    constraint bill_line_key_once unique (bill_id, key)
);
create index bill_line_line_idx on bill_line (line_id) where line_id is not null;
create index bill_line_part_idx on bill_line (part_id) where part_id is not null;

create table bill_line_adjust (
    bill_id      bigint not null,
    position     integer not null,
    n            integer not null,
    text         text not null constraint bill_line_adjust_text_given check (text <> ''),
    up           boolean not null,
    percent_bp   integer not null,
    base_minor   bigint not null,
    amount_minor bigint not null,
    constraint bill_line_adjust_pk primary key (bill_id, position, n),
    constraint bill_line_adjust_line_fk foreign key (bill_id, position) references bill_line
);

-- Discounts and surcharges on the whole, at each rate of VAT.
create table bill_adjust (
    bill_id      bigint not null constraint bill_adjust_bill_fk references bill,
    n            integer not null,
    text         text not null constraint bill_adjust_text_given check (text <> ''),
    up           boolean not null,
    percent_bp   integer not null,
    base_minor   bigint not null,
    amount_minor bigint not null,
    vat_code     text not null constraint bill_adjust_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'exempt', 'outside')),
    rate_bp      integer not null,
    constraint bill_adjust_pk primary key (bill_id, n)
);

create table bill_vat (
    bill_id   bigint not null constraint bill_vat_bill_fk references bill,
    vat_code  text not null constraint bill_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'exempt', 'outside')),
    rate_bp   integer not null,
    net_minor bigint not null,
    vat_minor bigint not null,
    constraint bill_vat_pk primary key (bill_id, vat_code, rate_bp),
    constraint bill_vat_none_outside check (vat_code in ('standard', 'reduced') or (rate_bp = 0 and vat_minor = 0))
);

-- What of a card stands on a bill that was not credited: each thing once. A row
-- goes when a credit note has taken the whole of it back.
create table billed (
    card_id  bigint not null constraint billed_card_fk references card,
    key      text not null,
    bill_id  bigint not null,
    position integer not null,
    constraint billed_once primary key (card_id, key),
    constraint billed_line_fk foreign key (bill_id, position) references bill_line
);
create index billed_bill_idx on billed (bill_id);

create function billed_let_go() returns trigger language plpgsql as $$
declare remains bigint;
begin
    select b.qty_milli + coalesce((select sum(c.qty_milli) from bill_line c join bill n on n.id = c.bill_id
            where n.of_bill = old.bill_id and c.key = old.key), 0)
        into remains from bill_line b where b.bill_id = old.bill_id and b.position = old.position;
    if tg_op = 'UPDATE' or remains <> 0 then
        raise exception '% of card % is on a bill and was not credited', old.key, old.card_id using errcode = 'restrict_violation';
    end if;
    return old;
end $$;
create trigger billed_stays before update or delete on billed for each row execute function billed_let_go();
create trigger billed_never_emptied before truncate on billed for each statement execute function refuse_change();

-- How people pay; means is the code of UNTDID 4461 for electronic invoices.
create table pay_method (
    name     text not null constraint pay_method_pk primary key,
    means    text not null,
    position integer not null
);
insert into pay_method (name, means, position) values ('card', '48', 1), ('cash', '10', 2), ('bank transfer', '30', 3), ('cheque', '20', 4);

-- Money that came in (above nothing) or went out.
create table payment (
    id           bigint generated always as identity constraint payment_pk primary key,
    kind         text not null constraint payment_kind_known check (kind in ('payment', 'refund', 'reversal')),
    series       text not null constraint payment_series_fk references bill_series,
    n            bigint not null constraint payment_n_range check (n >= 1),
    number       text not null constraint payment_number_once unique,
    customer_id  bigint not null constraint payment_customer_fk references customer,
    -- The card that a deposit was paid on.
    card_id      bigint constraint payment_card_fk references card,
    amount_minor bigint not null,
    currency     text not null constraint payment_currency_code check (currency ~ '^[A-Z]{3}$'),
    method       text not null constraint payment_method_fk references pay_method,
    day          date not null,
    reference    text not null default '',
    -- Why it was given back or was wrong.
    why          text not null default '',
    -- The payment that a refund gives back, where it was set against no bill.
    refunds      bigint constraint payment_refunds_fk references payment,
    -- The entry that was wrong and that this one undoes.
    reverses     bigint constraint payment_reverses_fk references payment,
    taken_by     bigint constraint payment_staff_fk references staff,
    taken_name   text not null,
    at           timestamptz not null,
    constraint payment_n_once unique (series, n),
    constraint payment_reversed_once unique (reverses),
    constraint payment_way check (case kind when 'payment' then amount_minor > 0 when 'refund' then amount_minor < 0 else amount_minor <> 0 end),
    constraint payment_reversal_of check ((kind = 'reversal') = (reverses is not null)),
    constraint payment_refund_of check (refunds is null or kind = 'refund'),
    constraint payment_with_reason check (kind = 'payment' or why <> '')
);
create index payment_customer_idx on payment (customer_id, day);
create index payment_card_idx on payment (card_id) where card_id is not null;
create index payment_day_idx on payment (day);
create index payment_refunds_idx on payment (refunds) where refunds is not null;

-- How payments are set against bills: in above nothing, a refund or a contrary
-- entry below.
create table allocation (
    id           bigint generated always as identity constraint allocation_pk primary key,
    payment_id   bigint not null constraint allocation_payment_fk references payment,
    bill_id      bigint not null constraint allocation_bill_fk references bill,
    amount_minor bigint not null constraint allocation_of_something check (amount_minor <> 0),
    day          date not null,
    at           timestamptz not null
);
create index allocation_bill_idx on allocation (bill_id);
create index allocation_payment_idx on allocation (payment_id);

-- The VAT in a deposit: due when the money came, taken off again by the bill
-- that sets it off, by a refund or by a contrary entry.
create table deposit_vat (
    id         bigint generated always as identity constraint deposit_vat_pk primary key,
    -- The deposit.
    payment_id bigint not null constraint deposit_vat_payment_fk references payment,
    -- What takes it off: a bill, or another payment; neither when it came.
    bill_id    bigint constraint deposit_vat_bill_fk references bill,
    undone_by  bigint constraint deposit_vat_undone_fk references payment,
    -- The tax point.
    day        date not null,
    vat_code   text not null constraint deposit_vat_known check (vat_code in ('standard', 'reduced', 'zero', 'exempt', 'outside')),
    rate_bp    integer not null,
    net_minor  bigint not null,
    vat_minor  bigint not null,
    constraint deposit_vat_one_reason check (num_nonnulls(bill_id, undone_by) <= 1)
);
create index deposit_vat_payment_idx on deposit_vat (payment_id);
create index deposit_vat_bill_idx on deposit_vat (bill_id) where bill_id is not null;
create index deposit_vat_day_idx on deposit_vat (day);

-- What was issued stays as it was issued, whoever tries.
do $$
declare t text;
begin
    foreach t in array array['bill', 'bill_line', 'bill_line_adjust', 'bill_adjust', 'bill_vat', 'payment', 'allocation', 'deposit_vat'] loop
        execute format('create trigger %I before update or delete on %I for each row execute function refuse_change()', t || '_only_grows', t);
        execute format('create trigger %I before truncate on %I for each statement execute function refuse_change()', t || '_never_emptied', t);
    end loop;
end $$;

-- A bill adds up: its rows are all there and no more, lines and adjustments come
-- to its totals rate by rate, and VAT is its rate of what it is on. How VAT is
-- rounded may part the last by a penny a line.
create function bill_check(id bigint) returns void language plpgsql as $$
declare b bill; what text;
begin
    select * into b from bill where bill.id = bill_check.id;
    select case
        when (select count(*) from bill_line l where l.bill_id = b.id) <> b.lines
            or (select count(*) from bill_line_adjust a where a.bill_id = b.id) <> b.line_adjusts
            or (select count(*) from bill_adjust a where a.bill_id = b.id) <> b.adjusts
            or (select count(*) from bill_vat v where v.bill_id = b.id) <> b.vats then 'has another number of rows'
        when (select sum(net_minor) from bill_line l where l.bill_id = b.id) <> b.line_net_minor then 'is not the sum of its lines'
        when exists (select from bill_line l where l.bill_id = b.id and l.net_minor <> l.list_minor + coalesce((
                select sum(case when a.up then a.amount_minor else -a.amount_minor end)
                from bill_line_adjust a where a.bill_id = l.bill_id and a.position = l.position), 0)) then 'has a line that is not its price and adjustments'
        when coalesce((select sum(amount_minor) from bill_adjust a where a.bill_id = b.id and not a.up), 0) <> b.allowances_minor
            or coalesce((select sum(amount_minor) from bill_adjust a where a.bill_id = b.id and a.up), 0) <> b.charges_minor then 'is not the sum of its adjustments'
        when coalesce((select sum(vat_minor) from bill_vat v where v.bill_id = b.id), 0) <> b.vat_minor
            or coalesce((select sum(net_minor) from bill_vat v where v.bill_id = b.id), 0) <> b.net_minor then 'is not the sum of its rates'
        when exists (
            select from (
                select vat_code, rate_bp, net_minor as net, 0 as sum from bill_vat v where v.bill_id = b.id
                union all select vat_code, rate_bp, 0, net_minor from bill_line l where l.bill_id = b.id
                union all select vat_code, rate_bp, 0, case when up then amount_minor else -amount_minor end from bill_adjust a where a.bill_id = b.id
            ) r group by vat_code, rate_bp having sum(net) <> sum(sum)) then 'has a rate that is not the sum of what is on it'
        when exists (select from bill_vat v where v.bill_id = b.id
                and abs(v.vat_minor - v.net_minor * v.rate_bp / 10000.0) > 1 + b.lines + b.adjusts) then 'has VAT that is not its rate'
        when b.kind = 'bill' and exists (select from bill_line l where l.bill_id = b.id and l.kind <> 'sundries'
                and not exists (select from billed d where d.card_id = b.card_id and d.key = l.key and d.bill_id = b.id)
                and not exists (select from bill_line c join bill n on n.id = c.bill_id where n.of_bill = b.id and c.key = l.key)) then 'has a line that is not noted as billed'
        when b.kind = 'credit note' and exists (select from bill_line c where c.bill_id = b.id and not exists (
                select from bill_line l where l.bill_id = b.of_bill and l.key = c.key)) then 'credits a line that its bill does not have'
        when b.kind = 'credit note' and exists (select from bill_line l where l.bill_id = b.of_bill and l.qty_milli < abs(coalesce((
                select sum(c.qty_milli) from bill_line c join bill n on n.id = c.bill_id where n.of_bill = b.of_bill and c.key = l.key), 0)) and l.qty_milli > 0) then 'credits more than was billed'
        when b.kind = 'credit note' and (select gross_minor from bill o where o.id = b.of_bill) + (select sum(gross_minor) from bill n where n.of_bill = b.of_bill) < 0 then 'credits more than the bill came to'
    end into what;
    if what is not null then
        raise exception 'document % %', b.number, what using errcode = 'check_violation', constraint = 'bill_adds_up';
    end if;
end $$;
create function bill_checked() returns trigger language plpgsql as $$
begin
    if tg_table_name = 'bill' then
        perform bill_check((to_jsonb(new) ->> 'id')::bigint);
    else
        perform bill_check(new.bill_id);
    end if;
    return null;
end $$;
create constraint trigger bill_adds_up after insert on bill deferrable initially deferred for each row execute function bill_checked();
create constraint trigger bill_line_adds_up after insert on bill_line deferrable initially deferred for each row execute function bill_checked();
create constraint trigger bill_line_adjust_adds_up after insert on bill_line_adjust deferrable initially deferred for each row execute function bill_checked();
create constraint trigger bill_adjust_adds_up after insert on bill_adjust deferrable initially deferred for each row execute function bill_checked();
create constraint trigger bill_vat_adds_up after insert on bill_vat deferrable initially deferred for each row execute function bill_checked();

-- A contrary entry is the exact contrary, and is not itself undone.
create function payment_check() returns trigger language plpgsql as $$
declare o payment;
begin
    select * into o from payment where id = new.reverses;
    if o.kind = 'reversal' or o.amount_minor <> -new.amount_minor or o.customer_id <> new.customer_id or o.method <> new.method then
        raise exception 'a contrary entry undoes the whole of one entry' using errcode = 'check_violation', constraint = 'payment_contrary';
    end if;
    return new;
end $$;
create trigger payment_contrary before insert on payment for each row when (new.reverses is not null) execute function payment_check();

-- No bill is paid more than it came to, and no payment is set against more than
-- it brought.
create function allocation_check() returns trigger language plpgsql as $$
declare root bigint; paid bigint; gross bigint; amount bigint; used bigint;
begin
    select coalesce(sum(a.amount_minor), 0) into paid from allocation a where a.bill_id = new.bill_id;
    select gross_minor into gross from bill b where b.id = new.bill_id and b.kind = 'bill';
    if gross is null or paid < 0 or paid > gross then
        raise exception 'bill % would be paid % of %', new.bill_id, paid, gross using errcode = 'check_violation', constraint = 'allocation_within_bill';
    end if;
    select coalesce(p.reverses, p.id) into root from payment p where p.id = new.payment_id;
    select sum(p.amount_minor) into amount from payment p where p.id = root or p.reverses = root or p.refunds = root
        or exists (select from payment f where f.id = p.reverses and f.refunds = root);
    select sum(a.amount_minor) into used from allocation a join payment p on p.id = a.payment_id where p.id = root or p.reverses = root;
    if used < least(amount, 0) or used > greatest(amount, 0) then
        raise exception 'payment % would be set against % of %', root, used, amount using errcode = 'check_violation', constraint = 'allocation_within_payment';
    end if;
    return null;
end $$;
create constraint trigger allocation_holds after insert on allocation deferrable initially deferred for each row execute function allocation_check();

-- How each bill stands: what was credited and paid is above nothing, and open
-- what is still owed; below nothing, the customer has paid too much.
create view bill_state as
    select b.id as bill_id, b.customer_id, b.gross_minor, c.credited_minor, a.paid_minor,
        b.gross_minor - c.credited_minor - a.paid_minor as open_minor
    from bill b
    cross join lateral (select coalesce(-sum(n.gross_minor), 0)::bigint as credited_minor from bill n where n.of_bill = b.id) c
    cross join lateral (select coalesce(sum(l.amount_minor), 0)::bigint as paid_minor from allocation l where l.bill_id = b.id) a
    where b.kind = 'bill';

-- What of each payment is set against no bill and was not given back.
create view payment_state as
    select p.id as payment_id, p.customer_id, p.card_id, p.amount_minor,
        case when exists (select from payment r where r.reverses = p.id) then 0 else
            p.amount_minor - coalesce((select sum(l.amount_minor) from allocation l where l.payment_id = p.id), 0)::bigint
            + coalesce((select sum(f.amount_minor) from payment f where f.refunds = p.id and not exists (select from payment r where r.reverses = f.id)), 0)::bigint
        end as left_minor
    from payment p where p.kind = 'payment';

commit;
