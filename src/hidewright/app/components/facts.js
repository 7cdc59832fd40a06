// Figures in chapters, and notes under them.
export default {
  props: { chapters: { type: Array, default: () => [] }, notes: { type: Array, default: () => [] } },
  template: `
    <div class="figures">
      <section v-for="[title, rows] in chapters" :key="title" class="facts">
        <h2>{{ title }}</h2>
        <dl>
          <template v-for="[term, value] in rows" :key="term"><dt>{{ term }}</dt><dd>{{ value }}</dd></template>
        </dl>
      </section>
      <section v-if="notes.length" class="facts">
        <h2>At the bench</h2>
        <ul><li v-for="note in notes" :key="note">{{ note }}</li></ul>
      </section>
    </div>
  `,
};
