begin; drop table write_key, event cascade; drop function event_chain, event_tell, refuse_change; drop function if exists event_digest; commit;
