package fitment

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/jackc/pgx/v5"

	"rampside/internal/change"
	"rampside/internal/fit"
	"rampside/internal/jobcard"
	"rampside/internal/pg"
)

// ruling is the verdict that a part is to have from here on.
type ruling struct {
	part jobcard.Part
	jobcard.Judgement
}

// judgements judges parts, and leaves out those whose verdict is not for
// reasoning to change.
func judgements(subjects []subject, known fit.Known, clashes []Clash, facts map[string]string) []ruling {
	var out []ruling
	for _, s := range subjects {
		j := judge(s, known, clashes)
		if s.part.VerdictHow == jobcard.ByHand {
			if s.part.Verdict == jobcard.Unchecked {
				if !j.Reasoned {
					continue
				}
			} else if j.Verdict != jobcard.DoesNotFit || s.part.Verdict == jobcard.DoesNotFit {
				// What somebody said stands, until it is proved wrong.
				continue
			}
		}
		in := jobcard.Judgement{Verdict: j.Verdict, How: jobcard.Reasoned, Note: j.Proof.Why, Proof: j.Proof, Facts: facts}
		if j.Proof.Rule != nil {
			in.Rule = j.Proof.Rule.Rule
		}
		out = append(out, ruling{s.part, in})
	}
	return out
}

// settle writes the verdicts that are new, and sets back those that had only
// fallen away meanwhile.
func settle(ctx context.Context, tx *change.Tx, c jobcard.Card, all []ruling) error {
	same, err := lastAre(ctx, tx, all)
	if err != nil {
		return err
	}
	for _, r := range all {
		put := func() error { return jobcard.PutVerdict(ctx, tx, c, r.part, r.Judgement) }
		if same[r.part.ID] {
			put = func() error { return jobcard.RestoreVerdict(ctx, tx, r.part) }
		}
		if err := put(); err != nil {
			return err
		}
	}
	return nil
}

// lastAre tells of which parts the last verdict on record is the one given, on
// the same grounds.
func lastAre(ctx context.Context, q pg.Querier, all []ruling) (map[jobcard.PartID]bool, error) {
	same := map[jobcard.PartID]bool{}
	if len(all) == 0 {
		return same, nil
	}
	var parts []int64
	var verdicts, hows, rules, numbers, proofs []string
	for _, r := range all {
		proof, err := json.Marshal(r.Proof)
		if err != nil {
			return nil, fmt.Errorf("write the proof: %w", err)
		}
		parts, verdicts, hows = append(parts, int64(r.part.ID)), append(verdicts, string(r.Verdict)), append(hows, string(r.How))
		rules, numbers, proofs = append(rules, r.Rule), append(numbers, r.part.Number), append(proofs, string(proof))
	}
	rows, err := q.Query(ctx, `
		select n.part_id
		from unnest($1::bigint[], $2::text[], $3::text[], $4::text[], $5::text[], $6::text[]) n (part_id, verdict, how, rule, number, proof)
		cross join lateral (select * from fit_check k where k.part_id = n.part_id order by k.id desc limit 1) k
		where k.verdict = n.verdict and k.how = n.how and k.rule = n.rule and k.number_key = number_key(n.number)
			and k.proof = n.proof::jsonb`, parts, verdicts, hows, rules, numbers, proofs)
	if err != nil {
		return nil, fmt.Errorf("read the last verdicts: %w", err)
	}
	ids, err := pgx.CollectRows(rows, pgx.RowTo[jobcard.PartID])
	if err != nil {
		return nil, fmt.Errorf("read the last verdicts: %w", err)
	}
	for _, id := range ids {
		same[id] = true
	}
	return same, nil
}
