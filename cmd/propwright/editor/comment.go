package editor

import "propwright/model"

// commentKey stands for an element's comment among its keys. In the file there is no such
// key: the comment is the lines with # above the element.
const commentKey = "comment"

// commentOf returns an element's comment as if it were one of its keys. Elements that are
// not written by themselves have none: parts of a state, and a supply without keys.
func commentOf(d *model.Design, at model.Elem) (*model.KeyValue, bool) {
	if at.Sort == model.SortPose || at.Sort == model.SortDrift || at.Sort == model.SortOrder || at.Sort == model.SortSupply && len(d.Supply.Keys) == 0 {
		return nil, false
	}
	return &model.KeyValue{
		Key: commentKey, Value: d.Comment(at),
		Meaning: "for who reads the file, above this there; Ctrl-J: a new line",
	}, true
}

// valueOf returns the value of a key or the comment.
func valueOf(d *model.Design, at model.Elem, key string) string {
	if key == commentKey {
		return d.Comment(at)
	}
	return d.Value(at, key)
}
