"""The picture of a part to hang beside the brake: views, callouts, facts, findings."""
