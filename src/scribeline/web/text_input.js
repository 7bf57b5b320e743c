// A field whose text is its person's. Each change that is typed has a number; the server says with every text of its own
// up to which number it had heard, and a text that it gave without knowing what stands here now is let go: what was typed
// is on its way, and the server's next word is an answer to it. See text_input.py.
const left = new Map(); // texts of fields that the framework took away while somebody was typing in them, by their path
const LEFT_MS = 4000; // judgement: a field that is built anew is there by then, on a slow telephone too

export default {
  template: `
    <q-input ref="qRef" v-bind="$attrs" :model-value="text" @update:model-value="type"
      :aria-invalid="$attrs.error ? 'true' : $attrs['aria-invalid']" :aria-describedby="describedBy">
      <template v-for="(_, slot) in $slots" v-slot:[slot]="slotProps"><slot :name="slot" v-bind="slotProps || {}" /></template>
    </q-input>
  `,
  props: { value: String, heard: Number, id: String, draft: String, loopback: Boolean, _autocomplete: Array },
  data() {
    return { text: this.value ?? "", typed: this.heard };
  },
  computed: {
    given() {
      return [this.value ?? "", this.heard];
    },
    place() {
      return this.draft ?? this.$attrs["data-path"];
    },
    // What the framework writes below a field, those who do not see it hear together with the field.
    describedBy() {
      return this.$attrs["aria-describedby"] ?? (this.$attrs.error || this.$attrs.hint ? `${this.id}-said` : undefined);
    },
    whose() {
      return JSON.stringify([this.$attrs["aria-label"] ?? this.$attrs.label, this.value]);
    },
  },
  watch: {
    given([text, heard], [, before]) {
      if (heard < this.typed) return;
      const input = this.$refs.qRef?.getNativeElement();
      const all = input?.value && input === document.activeElement && input.selectionEnd - input.selectionStart === input.value.length;
      this.typed = heard;
      this.text = text;
      if (all) this.$nextTick(() => input.select()); // about to be typed over
      if (this.draft && heard >= before && !text) window.scribeline?.saved(this.draft);
    },
  },
  updated() {
    this.nameBelow();
  },
  mounted() {
    this.nameBelow();
    document.addEventListener("scribeline:back", this.again);
    const before = left.get(this.place);
    if (before && before.whose === this.whose && window.scribeline?.kept(this.place) === before.text) {
      left.delete(this.place);
      this.type(before.text);
      if (before.focused && document.activeElement === document.body) this.$refs.qRef.focus();
    } else if (this.draft && !this.text) {
      const kept = window.scribeline?.kept(this.draft);
      if (kept) this.type(kept);
    }
  },
  beforeUnmount() {
    document.removeEventListener("scribeline:back", this.again);
    const place = this.place;
    if (!place || window.scribeline?.kept(place) !== this.text) return;
    const one = { text: this.text, whose: this.whose, focused: this.$el.contains(document.activeElement) };
    left.set(place, one);
    setTimeout(() => {
      if (left.get(place) === one && left.delete(place)) window.scribeline.offer(place);
    }, LEFT_MS);
  },
  methods: {
    nameBelow() {
      const below = this.$el.querySelector?.(".q-field__messages");
      if (below && this.id) below.id = `${this.id}-said`;
    },
    type(text) {
      this.text = String(text ?? "");
      this.typed += 1;
      if (this.draft) window.scribeline?.keep(this.draft, this.text, this.$attrs["aria-label"] ?? this.$attrs.label, true);
      this.tell();
    },
    tell() {
      this.$emit("update:value", { text: this.text, typed: this.typed });
    },
    // Back on the network: what was said to a server that had long stopped hearing is said again.
    again() {
      if (this.typed <= this.heard) return;
      this.tell();
      const input = this.$refs.qRef.getNativeElement();
      if (input !== document.activeElement) input.dispatchEvent(new Event("change", { bubbles: true }));
    },
  },
};
