/** An edit of a study, as the list of edits in the study crate has it. */
type Edit = { edit: string | undefined; treatment: string | null; zone: string | undefined; field?: string; value?: number };

/** What a refusal tells: what is wrong, the way out, and where to look. */
type Refusal = { what?: string; way_out?: string; look?: string };

/** What scripts tell each other. */
interface DocumentEventMap {
  "hardtack:edit": CustomEvent<Edit[]>;
  "hardtack:refused": CustomEvent<Refusal>;
  "hardtack:sheet": CustomEvent<void>;
  "hardtack:shown": CustomEvent<void>;
}
