-- Form 2: what a row may say is judged by what it carries, and keys can be discarded.
ALTER TABLE retrostage.office ADD COLUMN form int NOT NULL DEFAULT 2;

-- Keys that what people typed about people is encrypted with. They alone can be
-- removed: by an event that says so.
CREATE TABLE retrostage.keys (
	id    text PRIMARY KEY CHECK (id ~ '^[0-9a-f]{32}$'),
	job   text NOT NULL,
	key   bytea NOT NULL CHECK (length(key) = 32),
	login name NOT NULL DEFAULT session_user
);
CREATE TABLE retrostage.discarded (id text PRIMARY KEY, event text NOT NULL);
GRANT SELECT ON retrostage.keys, retrostage.discarded TO retrostage_technician, retrostage_supervisor, retrostage_clerk;
GRANT INSERT (id, job, key) ON retrostage.keys TO retrostage_technician, retrostage_supervisor;

CREATE FUNCTION retrostage.supervises() RETURNS boolean LANGUAGE sql STABLE AS
	$$ SELECT pg_has_role(session_user, 'retrostage_supervisor', 'MEMBER') $$;

-- Whoever signed last in a job, '' where the signature was withdrawn.
CREATE FUNCTION retrostage.signer(of text) RETURNS text LANGUAGE sql STABLE AS $$
	SELECT CASE WHEN b->'entry'->>'value' = '' THEN '' ELSE who END FROM (
		SELECT who, ord, device, id, convert_from(payload, 'UTF8')::json AS b FROM retrostage.events WHERE job = of AND kind = 'signature') s
	WHERE b->'entry'->>'key' = 'signed_by' ORDER BY ord DESC, device DESC, id DESC LIMIT 1 $$;

CREATE FUNCTION retrostage.judged() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
	body json;
	entry json;
	field text;
	signed text;
BEGIN
	IF NEW.kind = 'undo' AND EXISTS (SELECT FROM retrostage.events e WHERE e.id = NEW.answers AND e.kind IN ('signature', 'review', 'key discarded')) THEN
		RAISE EXCEPTION 'a signature, a decision on it or a discarded key is not undone';
	END IF;
	IF NEW.kind IN ('review', 'key discarded') AND (NOT retrostage.supervises() OR NEW.who = '') THEN
		RAISE EXCEPTION 'only a supervisor decides on a signature or discards a key';
	END IF;
	IF NEW.kind = 'review' AND retrostage.signer(NEW.job) = NEW.who THEN
		RAISE EXCEPTION 'who signed as the technician does not decide on it';
	END IF;
	IF NEW.jobkey <> '' THEN
		IF NEW.kind NOT IN ('entry', 'draft', 'attachment') THEN
			RAISE EXCEPTION 'an event of the kind % is not encrypted', NEW.kind;
		END IF;
		RETURN NEW;
	END IF;
	BEGIN
		body := convert_from(NEW.payload, 'UTF8')::json;
		IF EXISTS (SELECT FROM json_object_keys(body) k WHERE k <> lower(k)) THEN
			RAISE EXCEPTION 'x';
		END IF;
		entry := body->'entry';
		IF entry IS NOT NULL AND (EXISTS (SELECT FROM json_object_keys(entry) k WHERE k <> lower(k))
			OR (SELECT count(*) <> count(DISTINCT k) FROM json_object_keys(entry) k)) THEN
			RAISE EXCEPTION 'x';
		END IF;
		field := coalesce(entry->>'key', '');
	EXCEPTION WHEN OTHERS THEN
		RAISE EXCEPTION 'what the event carries cannot be read';
	END;
	IF (NEW.kind = 'signature') <> (field IN ('signed_by', 'signed_date', 'signed_record')) THEN
		RAISE EXCEPTION 'a signature under another kind, or another kind as a signature';
	END IF;
	IF coalesce(entry->>'by', '') NOT IN ('', NEW.who) THEN
		RAISE EXCEPTION 'an entry in the name of another';
	END IF;
	IF field = 'signed_by' AND entry->>'value' NOT IN ('', NEW.who) THEN
		RAISE EXCEPTION 'a signature in the name of another';
	END IF;
	IF NEW.kind = 'signature' AND NOT retrostage.supervises() AND (field <> 'signed_by' OR entry->>'value' = '') THEN
		signed := retrostage.signer(NEW.job);
		IF signed IS NOT NULL AND signed NOT IN ('', NEW.who) THEN
			RAISE EXCEPTION 'a signature is touched by whoever gave it, or by a supervisor';
		END IF;
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER events_judged BEFORE INSERT ON retrostage.events FOR EACH ROW EXECUTE FUNCTION retrostage.judged();

-- An event that discards keys does so here too, with its owner's rights and for nothing else.
CREATE FUNCTION retrostage.discards() RETURNS trigger LANGUAGE plpgsql SECURITY DEFINER SET search_path = pg_catalog AS $$
DECLARE
	k text;
BEGIN
	FOR k IN SELECT json_array_elements_text(convert_from(NEW.payload, 'UTF8')::json->'keys') LOOP
		IF NOT EXISTS (SELECT FROM retrostage.keys WHERE id = k AND job <> NEW.job) THEN
			INSERT INTO retrostage.discarded VALUES (k, NEW.id) ON CONFLICT DO NOTHING;
			DELETE FROM retrostage.keys WHERE id = k;
		END IF;
	END LOOP;
	RETURN NULL;
END $$;
CREATE TRIGGER events_discard AFTER INSERT ON retrostage.events FOR EACH ROW WHEN (NEW.kind = 'key discarded') EXECUTE FUNCTION retrostage.discards();

-- A key that was discarded does not come back.
CREATE FUNCTION retrostage.gone() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
	IF EXISTS (SELECT FROM retrostage.discarded d WHERE d.id = NEW.id) THEN
		RETURN NULL;
	END IF;
	RETURN NEW;
END $$;
CREATE TRIGGER keys_gone BEFORE INSERT ON retrostage.keys FOR EACH ROW EXECUTE FUNCTION retrostage.gone();
