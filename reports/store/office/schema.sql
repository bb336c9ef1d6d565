-- The office: appended only, and each role held to what is its own by the server.
CREATE SCHEMA retrostage;

CREATE TABLE retrostage.office (id text PRIMARY KEY);

-- Who a login is: the reference that stands beside what is typed.
CREATE TABLE retrostage.people (login name PRIMARY KEY, ref text NOT NULL CHECK (ref <> ''));

CREATE TABLE retrostage.events (
	seq     bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
	id      text NOT NULL UNIQUE CHECK (id ~ '^[0-9a-f]{32}$'),
	device  text NOT NULL CHECK (device ~ '^[0-9a-f]{32}$'),
	ord     bigint NOT NULL CHECK (ord BETWEEN 1 AND 1099511627775),
	who     text NOT NULL,
	at      bigint NOT NULL,
	kind    text NOT NULL,
	answers text NOT NULL,
	job     text NOT NULL CHECK (job ~ '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$'),
	visit   text NOT NULL,
	jobkey  text NOT NULL,
	payload bytea NOT NULL CHECK (length(payload) <= 16777216),
	sum     bytea NOT NULL CHECK (length(sum) = 16),
	login   name NOT NULL DEFAULT session_user,
	xact    bigint NOT NULL DEFAULT pg_current_xact_id()::text::bigint
);
CREATE INDEX events_place ON retrostage.events (xact, seq);
CREATE INDEX events_job ON retrostage.events (job, ord);

CREATE TABLE retrostage.pictures (
	hash  text PRIMARY KEY CHECK (hash ~ '^[0-9a-f]{64}$'),
	mime  text NOT NULL CHECK (mime IN ('image/jpeg', 'image/png')),
	data  bytea NOT NULL CHECK (encode(sha256(data), 'hex') = hash),
	login name NOT NULL DEFAULT session_user
);

-- Nothing is changed or removed, by the owner neither.
CREATE FUNCTION retrostage.stays() RETURNS trigger LANGUAGE plpgsql AS
	$$ BEGIN RAISE EXCEPTION 'an event or picture is never changed or removed'; END $$;
CREATE TRIGGER events_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON retrostage.events EXECUTE FUNCTION retrostage.stays();
CREATE TRIGGER pictures_stay BEFORE UPDATE OR DELETE OR TRUNCATE ON retrostage.pictures EXECUTE FUNCTION retrostage.stays();

DO $$ BEGIN
	IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'retrostage_technician') THEN CREATE ROLE retrostage_technician NOLOGIN; END IF;
	IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'retrostage_supervisor') THEN CREATE ROLE retrostage_supervisor NOLOGIN; END IF;
	IF NOT EXISTS (SELECT FROM pg_roles WHERE rolname = 'retrostage_clerk') THEN CREATE ROLE retrostage_clerk NOLOGIN; END IF;
END $$;

GRANT USAGE ON SCHEMA retrostage TO retrostage_technician, retrostage_supervisor, retrostage_clerk;
GRANT SELECT ON ALL TABLES IN SCHEMA retrostage TO retrostage_technician, retrostage_supervisor, retrostage_clerk;
GRANT INSERT (id, device, ord, who, at, kind, answers, job, visit, jobkey, payload, sum) ON retrostage.events TO retrostage_technician, retrostage_supervisor;
GRANT INSERT (hash, mime, data) ON retrostage.pictures TO retrostage_technician, retrostage_supervisor;

ALTER TABLE retrostage.events ENABLE ROW LEVEL SECURITY;
CREATE POLICY all_read ON retrostage.events FOR SELECT TO retrostage_technician, retrostage_supervisor, retrostage_clerk USING (true);
-- Nobody writes as another. What nobody is named beside may come from anyone, but a
-- signature: that is its signer's alone.
CREATE POLICY own_write ON retrostage.events FOR INSERT TO retrostage_technician, retrostage_supervisor WITH CHECK (
	login = session_user
	AND (who = (SELECT ref FROM retrostage.people p WHERE p.login = session_user) OR who = '' AND kind <> 'signature'));
