begin;
drop table forecast_made, outlook_accepted, outlook_model, outlook, outlook_order, outlook_setting;
commit;
