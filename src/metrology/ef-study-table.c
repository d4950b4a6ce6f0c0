/* Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later */
#include "ef-study-table.h"

#include <math.h>
#include <string.h>

#define MOST_ROWS 200000
#define MOST_COLUMNS 64

/* --- Comma-separated values --------------------------------------------------------------------------------------------------------- */

typedef struct
{
  const char *file, *at;
  char separator;
  guint row; /* of the file */
  guint line;
} Reader;

/* One field; *end_out: what ended it. NULL where a quote isn't closed. */
static char *
read_field (Reader *r,
            char *end_out)
{
  GString *text = g_string_new (NULL);
  gboolean quoted = *r->at == '"';

  if (quoted)
    r->at++;
  for (;; r->at++)
    {
      if (*r->at == '\0' && quoted)
        {
          g_string_free (text, TRUE);
          return NULL;
        }
      if (quoted && *r->at == '"')
        {
          r->at++;
          if (*r->at != '"')
            quoted = FALSE;
        }
      if (!quoted && (*r->at == '\0' || *r->at == r->separator || *r->at == '\n' || *r->at == '\r'))
        break;
      if (*r->at == '\n')
        r->line++;
      g_string_append_c (text, *r->at);
    }
  *end_out = *r->at;
  if (*r->at != '\0')
    r->at++;
  if (*end_out == '\r' && *r->at == '\n')
    r->at++;

  return g_strstrip (g_string_free (text, FALSE));
}

/* The fields of the next row that isn't empty; NULL at the end, or with an error. */
static GPtrArray *
read_row (Reader *r,
          GError **error)
{
  while (*r->at != '\0')
    {
      g_autoptr (GPtrArray) fields = g_ptr_array_new_with_free_func (g_free);
      char end = r->separator;

      r->row = ++r->line;
      while (end == r->separator)
        {
          char *field = read_field (r, &end);

          if (field == NULL || fields->len >= MOST_COLUMNS)
            {
              g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: row %u, column %u: %s", r->file, r->row, fields->len + 1,
                           field == NULL ? "expected a closing quote" : "expected fewer columns");
              g_free (field);
              return NULL;
            }
          g_ptr_array_add (fields, field);
        }
      if (fields->len > 1 || *(char *) fields->pdata[0] != '\0')
        return g_steal_pointer (&fields);
    }

  return NULL;
}

/* A table with known columns. */
typedef struct
{
  Reader r;
  const char *const *names;
  guint n_names;
  int column[8]; /* of each name; -1 */
  GPtrArray *row;
} Table;

static gboolean
open_table (Table *t,
            const char *text,
            const char *file,
            const char *const *names,
            guint n_required,
            GError **error)
{
  g_autoptr (GPtrArray) head = NULL;
  const char *line_end = strpbrk (text, "\r\n");
  gsize first = line_end != NULL ? (gsize) (line_end - text) : strlen (text);

  t->names = names;
  t->n_names = g_strv_length ((char **) names);
  t->r = (Reader){ file, g_str_has_prefix (text, "\xef\xbb\xbf") ? text + 3 : text, memchr (text, ';', first) != NULL ? ';' : ',', 0, 0 };
  if (!g_utf8_validate (text, -1, NULL))
    {
      g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: expected text in UTF-8", file);
      return FALSE;
    }
  head = read_row (&t->r, error);
  if (head == NULL)
    {
      if (error == NULL || *error == NULL)
        g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: row 1: expected the names of columns, found nothing", file);
      return FALSE;
    }
  for (guint i = 0; i < t->n_names; i++)
    {
      t->column[i] = -1;
      for (guint k = 0; k < head->len; k++)
        if (g_ascii_strcasecmp (head->pdata[k], names[i]) == 0)
          t->column[i] = (int) k;
      if (t->column[i] < 0 && i < n_required)
        {
          g_autofree char *list = g_strjoinv (", ", (char **) names);

          g_set_error (error, EF_ERROR, EF_ERROR_PARSE, "%s: row 1: expected a column “%s” (columns: %s)", file, names[i], list);
          return FALSE;
        }
    }

  return TRUE;
}

/* FALSE at the end and on failure. */
static gboolean
next_row (Table *t,
          GError **error)
{
  g_clear_pointer (&t->row, g_ptr_array_unref);
  t->row = read_row (&t->r, error);

  return t->row != NULL;
}

static gboolean
refuse (const Table *t,
        guint name,
        const char *expected,
        const char *found,
        GError **error)
{
  g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: row %u, column “%s”: expected %s, found “%s”", t->r.file, t->r.row, t->names[name], expected, found);

  return FALSE;
}

/* The field of a name; "" where the column isn't there; NULL with an error where it's wanted and missing. */
static const char *
field (const Table *t,
       guint name,
       gboolean wanted,
       GError **error)
{
  const char *text = t->column[name] >= 0 && t->column[name] < (int) t->row->len ? t->row->pdata[t->column[name]] : "";

  if (wanted && *text == '\0')
    {
      refuse (t, name, "something", "", error);
      return NULL;
    }

  return text;
}

static gboolean
number (const Table *t,
        guint name,
        double *value_out,
        GError **error)
{
  const char *text = field (t, name, TRUE, error);
  g_autofree char *plain = g_strdup (text);
  char *end = NULL;

  if (text == NULL)
    return FALSE;
  if (t->r.separator == ';')
    g_strdelimit (plain, ",", '.');
  *value_out = g_ascii_strtod (plain, &end);
  if (end == plain || *end != '\0' || !isfinite (*value_out))
    return refuse (t, name, "a number", text, error);

  return TRUE;
}

static guint
place_of (GPtrArray *names,
          const char *name)
{
  guint i;

  if (g_ptr_array_find_with_equal_func (names, name, g_str_equal, &i))
    return i;
  g_ptr_array_add (names, g_strdup (name));

  return names->len - 1;
}

/* --- Gauge studies ------------------------------------------------------------------------------------------------------------------ */

static const char *const study_columns[] = { "part", "appraiser", "trial", "value", NULL };

typedef struct
{
  guint part, appraiser, trial, row;
  double value;
} Cell;

static gboolean
read_cell (Table *t,
           EfStudyTable *table,
           Cell *cell,
           GError **error)
{
  const char *part = field (t, 0, TRUE, error);
  const char *appraiser = part != NULL ? field (t, 1, TRUE, error) : NULL;
  double trial = 0.0;

  if (appraiser == NULL || !number (t, 2, &trial, error) || !number (t, 3, &cell->value, error))
    return FALSE;
  if (trial != floor (trial) || trial < 1 || trial > EF_STUDY_MOST)
    {
      g_autofree char *expected = g_strdup_printf ("a whole number from 1 to %d", EF_STUDY_MOST);

      return refuse (t, 2, expected, field (t, 2, FALSE, NULL), error);
    }
  cell->part = place_of (table->parts, part);
  cell->appraiser = place_of (table->appraisers, appraiser);
  cell->trial = (guint) trial - 1;
  cell->row = t->r.row;
  if (table->parts->len > EF_STUDY_MOST || table->appraisers->len > EF_STUDY_MOST)
    {
      g_autofree char *expected = g_strdup_printf ("at most %d different ones", EF_STUDY_MOST);

      return refuse (t, table->parts->len > EF_STUDY_MOST ? 0 : 1, expected, table->parts->len > EF_STUDY_MOST ? part : appraiser, error);
    }
  table->readings.n_trials = MAX (table->readings.n_trials, cell->trial + 1);

  return TRUE;
}

static gboolean
place_cells (EfStudyTable *table,
             const GArray *cells,
             const char *file,
             GError **error)
{
  guint n_appraisers = table->appraisers->len, n_trials = table->readings.n_trials;
  gsize n = (gsize) table->parts->len * n_appraisers * n_trials;

  table->values = g_new (double, MAX (n, 1));
  for (gsize i = 0; i < n; i++)
    table->values[i] = NAN;
  for (guint i = 0; i < cells->len; i++)
    {
      const Cell *cell = &g_array_index (cells, Cell, i);
      double *value = &table->values[(cell->part * n_appraisers + cell->appraiser) * n_trials + cell->trial];

      if (!isnan (*value))
        {
          g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: row %u, column “trial”: expected one value for part %s, appraiser %s, trial %u, found a second", file, cell->row,
                       (char *) table->parts->pdata[cell->part], (char *) table->appraisers->pdata[cell->appraiser], cell->trial + 1);
          return FALSE;
        }
      *value = cell->value;
    }
  for (gsize i = 0; i < n; i++)
    if (isnan (table->values[i]))
      {
        g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "%s: expected %u trials of every part by every appraiser; part %s, appraiser %s has no trial %u", file, n_trials,
                     (char *) table->parts->pdata[i / n_trials / n_appraisers], (char *) table->appraisers->pdata[i / n_trials % n_appraisers], (guint) (i % n_trials) + 1);
        return FALSE;
      }
  table->readings.n_parts = table->parts->len;
  table->readings.n_appraisers = n_appraisers;
  table->readings.values = table->values;

  return TRUE;
}

EfStudyTable *
ef_study_table_parse (const char *text,
                      const char *file,
                      GError **error)
{
  g_autoptr (EfStudyTable) table = g_new0 (EfStudyTable, 1);
  g_autoptr (GArray) cells = g_array_new (FALSE, FALSE, sizeof (Cell));
  GError *problem = NULL;
  Table t = { 0 };
  Cell cell;

  table->parts = g_ptr_array_new_with_free_func (g_free);
  table->appraisers = g_ptr_array_new_with_free_func (g_free);
  if (!open_table (&t, text, file, study_columns, 4, &problem))
    {
      g_propagate_error (error, problem);
      return NULL;
    }
  while (next_row (&t, &problem) && read_cell (&t, table, &cell, &problem) && cells->len < MOST_ROWS)
    g_array_append_val (cells, cell);
  g_clear_pointer (&t.row, g_ptr_array_unref);
  if (problem != NULL)
    {
      g_propagate_error (error, problem);
      return NULL;
    }
  if (!place_cells (table, cells, file, error))
    return NULL;

  return g_steal_pointer (&table);
}

void
ef_study_table_free (EfStudyTable *table)
{
  if (table == NULL)
    return;
  g_ptr_array_unref (table->parts);
  g_ptr_array_unref (table->appraisers);
  g_free (table->values);
  g_free (table);
}

/* --- Ratings ------------------------------------------------------------------------------------------------------------------------ */

static const char *const rating_columns[] = { "item", "rater", "category", "rule", NULL };
/* From the mildest to the hardest: ef_verdict_name(), which lies above this folder. */
static const char *const verdicts[] = { "use-again", "measure-again", "rework", "scrap", NULL };

EfRatingTable *
ef_rating_table_new (const char *const *order)
{
  EfRatingTable *table = g_new0 (EfRatingTable, 1);

  table->items = g_ptr_array_new_with_free_func (g_free);
  table->raters = g_ptr_array_new_with_free_func (g_free);
  table->categories = g_ptr_array_new_with_free_func (g_free);
  table->rules = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; order != NULL && order[i] != NULL; i++)
    g_ptr_array_add (table->categories, g_strdup (order[i]));

  return table;
}

void
ef_rating_table_free (EfRatingTable *table)
{
  if (table == NULL)
    return;
  g_ptr_array_unref (table->items);
  g_ptr_array_unref (table->raters);
  g_ptr_array_unref (table->categories);
  g_ptr_array_unref (table->rules);
  g_free (table->ratings);
  g_free (table);
}

/* The grid at its new size, what's new not rated. */
static void
grow (EfRatingTable *table,
      guint items,
      guint raters)
{
  int *grown = g_new (int, (gsize) table->items->len * table->raters->len);

  for (guint i = 0; i < table->items->len; i++)
    for (guint j = 0; j < table->raters->len; j++)
      grown[i * table->raters->len + j] = i < items && j < raters ? table->ratings[i * raters + j] : -1;
  g_free (table->ratings);
  table->ratings = grown;
}

gboolean
ef_rating_table_add (EfRatingTable *table,
                     const char *item,
                     const char *rater,
                     const char *category,
                     const char *rule)
{
  guint items = table->items->len, raters = table->raters->len;
  guint i = place_of (table->items, item), j = place_of (table->raters, rater);
  int *rating;

  if (table->items->len > items)
    g_ptr_array_add (table->rules, g_strdup (rule != NULL ? rule : ""));
  if (table->items->len > items || table->raters->len > raters)
    grow (table, items, raters);
  rating = &table->ratings[i * table->raters->len + j];
  if (*rating >= 0)
    return FALSE;
  *rating = (int) place_of (table->categories, category);

  return TRUE;
}

static gboolean
all_verdicts (const GPtrArray *names)
{
  for (guint i = 0; i < names->len; i++)
    if (!g_strv_contains (verdicts, names->pdata[i]))
      return FALSE;

  return names->len > 0;
}

/* Verdicts have an order of their own. */
static void
order_verdicts (EfRatingTable *table)
{
  g_autoptr (GPtrArray) before = table->categories;

  table->categories = g_ptr_array_new_with_free_func (g_free);
  for (guint i = 0; verdicts[i] != NULL; i++)
    if (g_ptr_array_find_with_equal_func (before, verdicts[i], g_str_equal, NULL))
      g_ptr_array_add (table->categories, g_strdup (verdicts[i]));
  for (gsize k = 0; k < (gsize) table->items->len * table->raters->len; k++)
    if (table->ratings[k] >= 0)
      table->ratings[k] = (int) place_of (table->categories, before->pdata[table->ratings[k]]);
}

static gboolean
read_rating (Table *t,
             EfRatingTable *table,
             GError **error)
{
  const char *item = field (t, 0, TRUE, error);
  const char *rater = item != NULL ? field (t, 1, TRUE, error) : NULL;
  const char *category = rater != NULL ? field (t, 2, TRUE, error) : NULL;

  if (category == NULL)
    return FALSE;
  if (!ef_rating_table_add (table, item, rater, category, field (t, 3, FALSE, NULL)))
    return refuse (t, 1, "each rater once for an item", rater, error);
  if (table->categories->len > EF_AGREEMENT_MOST)
    return refuse (t, 2, "at most 64 different ones", category, error);

  return TRUE;
}

EfRatingTable *
ef_rating_table_parse (const char *text,
                       const char *file,
                       GError **error)
{
  g_autoptr (EfRatingTable) table = ef_rating_table_new (NULL);
  GError *problem = NULL;
  Table t = { 0 };

  if (open_table (&t, text, file, rating_columns, 3, &problem))
    while (next_row (&t, &problem) && read_rating (&t, table, &problem) && t.r.row < MOST_ROWS)
      ;
  g_clear_pointer (&t.row, g_ptr_array_unref);
  if (problem != NULL)
    {
      g_propagate_error (error, problem);
      return NULL;
    }
  if (all_verdicts (table->categories))
    order_verdicts (table);

  return g_steal_pointer (&table);
}

static const EfKappa no_kappa = { NAN, NAN, NAN, NAN, NAN, NAN, NAN, NAN };

static void
compare_pair (const EfRatingTable *table,
              EfRaterPair *pair)
{
  guint n = table->categories->len;
  g_autofree double *counts = g_new0 (double, (gsize) n * n);

  for (guint i = 0; i < table->items->len; i++)
    {
      int a = table->ratings[i * table->raters->len + pair->a], b = table->ratings[i * table->raters->len + pair->b];

      if (a < 0 || b < 0)
        continue;
      counts[(guint) a * n + (guint) b] += 1;
      pair->n++;
    }
  if (pair->n == 0 || !ef_kappa_two (counts, n, EF_WEIGHT_NONE, &pair->plain, NULL))
    pair->plain = no_kappa;
  if (pair->n == 0 || !ef_kappa_two (counts, n, EF_WEIGHT_LINEAR, &pair->weighted, NULL))
    pair->weighted = no_kappa;
}

static void
fill_all (const EfRatingTable *table,
          EfRatingSummary *summary)
{
  guint n = table->categories->len;
  g_autofree double *counts = g_new0 (double, (gsize) table->items->len * n);

  for (gsize k = 0; k < (gsize) table->items->len * table->raters->len; k++)
    {
      if (table->ratings[k] < 0)
        return;
      counts[k / table->raters->len * n + (guint) table->ratings[k]] += 1;
    }
  summary->has_all = ef_kappa_many (counts, table->items->len, n, &summary->all, NULL);
}

static EfRuleDisagreement *
rule_of (GArray *rules,
         const char *name)
{
  EfRuleDisagreement rule = { NULL, 0, 0, 0 };

  for (guint i = 0; i < rules->len; i++)
    if (g_str_equal (g_array_index (rules, EfRuleDisagreement, i).rule, name))
      return &g_array_index (rules, EfRuleDisagreement, i);
  rule.rule = g_strdup (name);
  g_array_append_val (rules, rule);

  return &g_array_index (rules, EfRuleDisagreement, rules->len - 1);
}

static gint
compare_rules (gconstpointer a,
               gconstpointer b)
{
  const EfRuleDisagreement *one = a, *other = b;
  double x = one->pairs > 0 ? (double) one->differ / one->pairs : 0.0, y = other->pairs > 0 ? (double) other->differ / other->pairs : 0.0;

  return x > y ? -1 : x < y ? 1 : strcmp (one->rule, other->rule);
}

static void
fill_rules (const EfRatingTable *table,
            EfRatingSummary *summary)
{
  for (guint i = 0; i < table->items->len; i++)
    {
      EfRuleDisagreement *rule = rule_of (summary->rules, table->rules->pdata[i]);
      const int *row = table->ratings + (gsize) i * table->raters->len;

      rule->items++;
      for (guint a = 0; a < table->raters->len; a++)
        for (guint b = a + 1; b < table->raters->len; b++)
          if (row[a] >= 0 && row[b] >= 0)
            {
              rule->pairs++;
              rule->differ += row[a] != row[b];
            }
    }
  g_array_sort (summary->rules, compare_rules);
}

static void
rule_clear (gpointer data)
{
  g_free (((EfRuleDisagreement *) data)->rule);
}

EfRatingSummary *
ef_rating_summary_new (const EfRatingTable *table,
                       GError **error)
{
  EfRatingSummary *summary;

  if (table->raters->len < 2 || table->categories->len < 2 || table->items->len < 2)
    {
      g_set_error (error, EF_ERROR, EF_ERROR_INVALID, "ratings: expected two raters, two items and two categories or more, found %u, %u and %u", table->raters->len, table->items->len,
                   table->categories->len);
      return NULL;
    }
  summary = g_new0 (EfRatingSummary, 1);
  summary->pairs = g_array_new (FALSE, TRUE, sizeof (EfRaterPair));
  summary->rules = g_array_new (FALSE, TRUE, sizeof (EfRuleDisagreement));
  g_array_set_clear_func (summary->rules, rule_clear);
  fill_all (table, summary);
  for (guint a = 0; a < table->raters->len; a++)
    for (guint b = a + 1; b < table->raters->len; b++)
      {
        EfRaterPair pair = { a, b, 0, no_kappa, no_kappa };

        compare_pair (table, &pair);
        g_array_append_val (summary->pairs, pair);
      }
  fill_rules (table, summary);

  return summary;
}

void
ef_rating_summary_free (EfRatingSummary *summary)
{
  if (summary == NULL)
    return;
  g_array_unref (summary->pairs);
  g_array_unref (summary->rules);
  g_free (summary);
}
