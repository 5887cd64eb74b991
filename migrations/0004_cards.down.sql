begin;
drop table photo, second_check, caution_read, finding, snag, clocking_correction, clocking, part, consent, line_order, line, card;
commit;
