package fitment

import (
	"context"
	"slices"

	"rampside/internal/jobcard"
	"rampside/internal/pg"
)

// boxRead is the number last read off the box of a part.
type boxRead struct {
	part        jobcard.PartID
	number, box string
}

// otherBoxes tells of which parts the box bears a number that is not the
// part's own, nor one of the same part, nor one that replaced it. It asks the
// database only where the numbers differ at all.
func otherBoxes(ctx context.Context, q pg.Querier, read []boxRead) (map[jobcard.PartID]bool, error) {
	read = slices.DeleteFunc(slices.Clone(read), func(r boxRead) bool { return r.box == "" || NumberKey(r.box) == NumberKey(r.number) })
	if len(read) == 0 {
		return nil, nil
	}
	var numbers []string
	for _, r := range read {
		numbers = append(numbers, r.number)
	}
	kin, err := kinOfEach(ctx, q, numbers)
	if err != nil {
		return nil, err
	}
	other := map[jobcard.PartID]bool{}
	for _, r := range read {
		k, box := kin[NumberKey(r.number)], NumberKey(r.box)
		other[r.part] = !slices.Contains(k.Same, box) && !slices.Contains(k.Newer, box)
	}
	return other, nil
}

// onlyOtherBoxes keeps, of the numbers read off boxes, those of another part.
func onlyOtherBoxes(ctx context.Context, q pg.Querier, all []subject) error {
	var read []boxRead
	for _, s := range all {
		read = append(read, boxRead{s.part.ID, s.part.Number, s.box})
	}
	other, err := otherBoxes(ctx, q, read)
	for i := range all {
		if !other[all[i].part.ID] {
			all[i].box = ""
		}
	}
	return err
}
