/* The state in words, the fields for what can be done next, and the buttons that do it.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-seal-panel.h"
#include "ef-bench-plan.h"
#include "ef-field.h"
#include "ef-key-window.h"
#include "ef-verify-window.h"
#include "ef-who-fields.h"

#include "../record/ef-seal.h"
#include "../record/ef-store-standing.h"

#include <glib/gi18n.h>
#include <string.h>

struct _EfSealPanel
{
  GtkBox parent_instance;

  EfSession *session;
  GtkWidget *icon, *title, *words, *digest;
  EfWhoFields *who;
  EfField *note, *passphrase, *again, *reason;
  char *role; /* who is sealing */
  EfPermit *permit; /* theirs: the sign-off, the first key and the seal are one act */
  GtkWidget *open_box, *key_note, *seal, *sign, *unsign, *revise, *withdraw, *reinstate, *verify, *reason_box, *spinner;
  gulong assessed;     /* waiting for the verdict in full */
  gboolean busy;
};

G_DEFINE_FINAL_TYPE (EfSealPanel, ef_seal_panel, GTK_TYPE_BOX)

/* What the worker needs, and what it gives back. */
typedef struct
{
  char *path;
  gint64 job;
  EfAssessment *assessment;
  char *role, *note, *passphrase;
  EfPermit *permit;
  gboolean first;
} Work;

static void
work_free (gpointer data)
{
  Work *work = data;

  g_free (work->path);
  g_clear_pointer (&work->assessment, ef_assessment_unref);
  g_free (work->role);
  g_free (work->note);
  ef_permit_free (work->permit);
  if (work->passphrase != NULL)
    memset (work->passphrase, 0, strlen (work->passphrase));
  g_free (work->passphrase);
  g_free (work);
}

static void
seal_thread (GTask *task,
             gpointer source,
             gpointer task_data,
             GCancellable *cancellable)
{
  Work *work = task_data;
  g_autoptr (EfStore) store = NULL;
  g_autoptr (EfSealKey) key = NULL;
  GError *error = NULL;
  gint64 number = 0;

  store = ef_store_open (work->path, &error);
  if (store != NULL)
    ef_store_use_permit (store, work->permit);
  if (store != NULL)
    key = work->first ? ef_seal_key_make (store, work->passphrase, NULL, work->role, &error) : ef_seal_key_unlock (store, work->passphrase, &error);
  if (key != NULL)
    ef_store_use_permit (store, work->permit);
  if (key != NULL)
    number = ef_seal_assessed_job (store, work->job, work->assessment, work->role, work->note, key, &error);
  if (number > 0)
    g_task_return_int (task, number);
  else
    g_task_return_error (task, error);
}

static gboolean
has_key (EfSealPanel *self)
{
  EfStore *store = ef_session_store (self->session);
  g_autofree char *key = store != NULL ? ef_seal_key_current (store, NULL) : NULL;

  return key != NULL;
}

/* "2026-03-09T10:15:00Z" as the clock on the wall shows it. */
static char *
local_time (const char *iso)
{
  g_autoptr (GTimeZone) utc = g_time_zone_new_utc ();
  g_autoptr (GDateTime) time = iso != NULL ? g_date_time_new_from_iso8601 (iso, utc) : NULL;
  g_autoptr (GDateTime) local = time != NULL ? g_date_time_to_local (time) : NULL;

  return local != NULL ? g_date_time_format (local, "%Y-%m-%d %H:%M") : g_strdup (iso != NULL ? iso : "–");
}

/* In groups of eight, so that two can be compared by eye. */
static char *
grouped (const char *hex)
{
  g_autoptr (GString) out = g_string_new (NULL);

  for (guint i = 0; hex[i] != '\0'; i++)
    {
      if (i > 0 && i % 8 == 0)
        g_string_append_c (out, i == 32 ? '\n' : ' ');
      g_string_append_c (out, hex[i]);
    }

  return g_string_free (g_steal_pointer (&out), FALSE);
}

static const EfTick *
sign_off (EfSealPanel *self)
{
  return ef_inspection_find (ef_document_inspection (ef_session_document (self->session)), EF_ITEM_TICK, EF_SIGN_OFF_ID);
}

static void
show_state (EfSealPanel *self,
            const char *icon,
            const char *css_class,
            const char *title,
            const char *words,
            const char *digest)
{
  static const char *const classes[] = { "success", "warning", "dim-label" };

  gtk_image_set_from_icon_name (GTK_IMAGE (self->icon), icon);
  for (guint i = 0; i < G_N_ELEMENTS (classes); i++)
    gtk_widget_remove_css_class (self->icon, classes[i]);
  gtk_widget_add_css_class (self->icon, css_class);
  gtk_label_set_label (GTK_LABEL (self->title), title);
  gtk_label_set_label (GTK_LABEL (self->words), words != NULL ? words : "");
  gtk_widget_set_visible (self->words, words != NULL && *words != '\0');
  gtk_label_set_label (GTK_LABEL (self->digest), digest != NULL ? digest : "");
  gtk_widget_set_visible (self->digest, digest != NULL);
}

static void
show_sealed (EfSealPanel *self,
             const EfSeal *seal,
             gboolean stands)
{
  g_autofree char *time = local_time (seal->time);
  g_autofree char *digest = grouped (seal->digest);
  g_autofree char *title = NULL;
  g_autofree char *words = NULL;
  g_autofree char *key = grouped (seal->key);
  g_autofree char *lines = g_strdup_printf ("%s\n%s\n%s\n%s", _ ("SHA-256 of the seal"), digest, _ ("Public key; keep it on paper too"), key);

  if (stands)
    {
      title = seal->elsewhere ? g_strdup_printf (_ ("Sealed elsewhere, number %" G_GINT64_FORMAT), seal->number)
                              : g_strdup_printf (_ ("Sealed, number %" G_GINT64_FORMAT " of this store's chain"), seal->number);
      words = g_strdup_printf (_ ("Revision %u, by %s, %s.%s%s"), seal->revision, seal->role, time, *seal->note != '\0' ? " " : "", seal->note);
      show_state (self, "channel-secure-symbolic", "success", title, words, lines);
      return;
    }
  title = g_strdup_printf (_ ("Revision open; sealed before as number %" G_GINT64_FORMAT), seal->number);
  words = g_strdup_printf (_ ("Revision %u was sealed by %s, %s, and is kept as it was. What is changed now isn't sealed until it's sealed again."),
                           seal->revision, seal->role, time);
  show_state (self, "document-edit-symbolic", "warning", title, words, lines);
}

static void
show_open (EfSealPanel *self)
{
  const EfTick *tick = sign_off (self);
  g_autofree char *time = tick != NULL ? local_time (tick->time) : NULL;
  g_autofree char *words = NULL;

  if (tick != NULL)
    words = g_strdup_printf (_ ("Signed off by %s, %s.%s%s"), tick->role != NULL ? tick->role : "–", time, tick->note != NULL ? " " : "",
                             tick->note != NULL ? tick->note : "");
  else
    words = g_strdup (_ ("Not signed off. Sealing says that verdict and readings were looked through and stand, and shows later whether anything was changed since."));
  show_state (self, tick != NULL ? "emblem-ok-symbolic" : "document-edit-symbolic", "dim-label", tick != NULL ? _ ("Signed off, not sealed") : _ ("Open"), words, NULL);
}

static void
refresh (EfSealPanel *self)
{
  EfStore *store = ef_session_store (self->session);
  EfStanding standing = { 0 };
  g_autoptr (GPtrArray) seals = NULL;
  gboolean stored = store != NULL && ef_store_standing (store, ef_session_job (self->session), &standing, NULL);
  gboolean sealed = standing.sealed != 0;
  gboolean first = stored && !has_key (self);

  if (stored)
    seals = ef_seals_of_job (store, ef_session_job (self->session), NULL);
  if (standing.withdrawn)
    show_state (self, "action-unavailable-symbolic", "warning", _ ("Withdrawn"), _ ("The job isn't listed with the others and can't be changed. Nothing of it is deleted."), NULL);
  else if (seals != NULL && seals->len > 0)
    show_sealed (self, seals->pdata[seals->len - 1], sealed);
  else
    show_open (self);

  gtk_widget_set_visible (self->open_box, !sealed && !standing.withdrawn);
  gtk_widget_set_visible (GTK_WIDGET (self->passphrase), stored);
  gtk_widget_set_visible (GTK_WIDGET (self->again), first);
  gtk_widget_set_visible (self->key_note, first);
  gtk_widget_set_visible (self->seal, stored);
  gtk_widget_set_visible (self->unsign, sign_off (self) != NULL);
  gtk_widget_set_visible (self->reason_box, stored);
  gtk_widget_set_visible (self->revise, sealed && !standing.withdrawn);
  gtk_widget_set_visible (self->withdraw, stored && !standing.withdrawn);
  gtk_widget_set_visible (self->reinstate, standing.withdrawn);
  gtk_widget_set_sensitive (self->seal, !self->busy);
  gtk_widget_set_visible (self->spinner, self->busy);
}

static void
end_work (EfSealPanel *self)
{
  self->busy = FALSE;
  gtk_spinner_stop (GTK_SPINNER (self->spinner));
  refresh (self);
}

static void
sealed_cb (GObject *source,
           GAsyncResult *result,
           gpointer user_data)
{
  g_autoptr (EfSealPanel) self = user_data;
  Work *work = g_task_get_task_data (G_TASK (result));
  g_autoptr (GError) error = NULL;
  gint64 number = g_task_propagate_int (G_TASK (result), &error);
  g_autofree char *text = NULL;

  if (self->session == NULL)
    return;
  end_work (self);
  if (number < 1)
    {
      if (strstr (error->message, "passphrase") != NULL)
        ef_field_set_message (self->passphrase, work->first ? _ ("At least 8 characters.") : _ ("The key doesn't open with this passphrase."));
      else
        ef_session_message (self->session, error->message);
      return;
    }
  ef_field_set_text (self->passphrase, NULL);
  ef_field_set_text (self->again, NULL);
  ef_field_set_text (self->note, NULL);
  ef_session_refresh_standing (self->session);
  text = g_strdup_printf (_ ("Sealed as number %" G_GINT64_FORMAT), number);
  ef_session_message (self->session, text);
}

/* Once the verdict is that of the newest state, and as fine as it gets. */
static void
begin_when_ready (EfSealPanel *self)
{
  g_autoptr (GTask) task = NULL;
  Work *work;

  if (ef_session_busy (self->session) || ef_session_refining (self->session))
    return;
  g_clear_signal_handler (&self->assessed, self->session);
  work = g_new0 (Work, 1);
  work->path = g_strdup (ef_store_path (ef_session_store (self->session)));
  work->job = ef_session_job (self->session);
  work->assessment = ef_assessment_ref (ef_session_assessment (self->session));
  work->role = g_strdup (self->role);
  work->permit = g_steal_pointer (&self->permit);
  work->note = *ef_field_text (self->note) != '\0' ? g_strdup (ef_field_text (self->note)) : NULL;
  work->passphrase = g_strdup (ef_field_text (self->passphrase));
  work->first = !has_key (self);
  task = g_task_new (NULL, NULL, sealed_cb, g_object_ref (self));
  g_task_set_task_data (task, work, work_free);
  g_task_run_in_thread (task, seal_thread);
}

static gboolean
apply_sign_off (EfSealPanel *self,
                const char *label)
{
  EfTick *before = (EfTick *) sign_off (self);
  g_autoptr (EfItem) item = ef_item_new (&ef_tick_class, EF_SIGN_OFF_ID);
  EfTick *after = (EfTick *) item;
  g_autoptr (GDateTime) now = g_date_time_new_now_utc ();
  g_autoptr (EfChange) change = NULL;

  if (!ef_who_fields_authorise (self->who, EF_ACT_SIGN, TRUE, &after->role) || !ef_field_string (self->note, FALSE, &after->note))
    return FALSE;
  g_free (self->role);
  self->role = g_strdup (after->role);
  ef_permit_free (self->permit);
  self->permit = ef_session_store (self->session) != NULL ? ef_store_permit (ef_session_store (self->session)) : NULL;
  after->time = g_date_time_format (now, "%Y-%m-%dT%H:%M:%SZ");
  change = ef_change_new (label);
  ef_change_add (change, before, after);

  return ef_session_apply (self->session, g_steal_pointer (&change));
}

static gboolean
check_passphrase (EfSealPanel *self)
{
  gboolean first = !has_key (self);

  ef_field_set_message (self->passphrase, NULL);
  ef_field_set_message (self->again, NULL);
  if (*ef_field_text (self->passphrase) == '\0')
    ef_field_set_message (self->passphrase, first ? _ ("A passphrase of at least 8 characters protects the key.") : _ ("The key opens with its passphrase."));
  else if (first && g_utf8_strlen (ef_field_text (self->passphrase), -1) < EF_SEAL_PASSPHRASE_MIN)
    ef_field_set_message (self->passphrase, _ ("At least 8 characters."));
  else if (first && !g_str_equal (ef_field_text (self->passphrase), ef_field_text (self->again)))
    ef_field_set_message (self->again, _ ("The two aren't the same."));
  else
    return TRUE;
  gtk_widget_grab_focus (GTK_WIDGET (ef_field_message (self->passphrase) != NULL ? self->passphrase : self->again));

  return FALSE;
}

static void
seal_cb (EfSealPanel *self)
{
  if (self->busy || !check_passphrase (self) || !apply_sign_off (self, _ ("Sign off")))
    return;
  self->busy = TRUE;
  gtk_spinner_start (GTK_SPINNER (self->spinner));
  refresh (self);
  self->assessed = g_signal_connect_swapped (self->session, "notify::busy", G_CALLBACK (begin_when_ready), self);
  begin_when_ready (self);
}

static void
sign_cb (EfSealPanel *self)
{
  if (apply_sign_off (self, _ ("Sign off")))
    ef_field_set_text (self->note, NULL);
}

static void
unsign_cb (EfSealPanel *self)
{
  EfTick *before = (EfTick *) sign_off (self);
  g_autoptr (EfChange) change = NULL;
  g_autofree char *role = NULL;

  if (before == NULL || !ef_who_fields_authorise (self->who, EF_ACT_SIGN, FALSE, &role))
    return;
  change = ef_change_new (_ ("Take the sign-off back"));
  ef_change_add (change, before, NULL);
  ef_session_apply (self->session, g_steal_pointer (&change));
}

typedef gboolean (*Act) (EfStore *store, gint64 job, const char *role, const char *reason, GError **error);

static void
act (EfSealPanel *self,
     EfAct what,
     Act function,
     const char *done)
{
  g_autofree char *reason = NULL;
  g_autofree char *role = NULL;
  g_autoptr (GError) error = NULL;

  if (!ef_field_string (self->reason, TRUE, &reason))
    {
      ef_field_set_message (self->reason, _ ("This needs a reason: it stands in the history."));
      gtk_widget_grab_focus (GTK_WIDGET (self->reason));
      return;
    }
  if (!ef_who_fields_authorise (self->who, what, FALSE, &role))
    return;
  if (!function (ef_session_store (self->session), ef_session_job (self->session), role, reason, &error))
    {
      ef_session_message (self->session, error->message);
      return;
    }
  ef_field_set_text (self->reason, NULL);
  ef_session_refresh_standing (self->session);
  ef_session_message (self->session, done);
}

static void
revise_cb (EfSealPanel *self)
{
  act (self, EF_ACT_REVISE, ef_store_open_revision, _ ("A new revision is open"));
}

static void
withdraw_cb (EfSealPanel *self)
{
  act (self, EF_ACT_WITHDRAW, ef_store_withdraw, _ ("The job is withdrawn"));
}

static void
reinstate_cb (EfSealPanel *self)
{
  act (self, EF_ACT_WITHDRAW, ef_store_reinstate, _ ("The job is in use again"));
}

static void
key_cb (EfSealPanel *self)
{
  EfStore *store = ef_session_store (self->session);

  if (store != NULL)
    ef_key_window_show (GTK_WIDGET (self), store);
}

static void
verify_cb (EfSealPanel *self)
{
  EfStore *store = ef_session_store (self->session);

  if (store != NULL)
    ef_verify_window_show (GTK_WIDGET (self), ef_store_path (store));
}

static GtkWidget *
make_button (EfSealPanel *self,
             GtkWidget *box,
             const char *label,
             const char *css_class,
             GCallback callback)
{
  GtkWidget *button = gtk_button_new_with_label (label);

  gtk_widget_add_css_class (button, "ef-touch");
  if (css_class != NULL)
    gtk_widget_add_css_class (button, css_class);
  g_signal_connect_swapped (button, "clicked", callback, self);
  if (GTK_IS_FLOW_BOX (box))
    {
      gtk_flow_box_insert (GTK_FLOW_BOX (box), button, -1);
      gtk_widget_set_focusable (gtk_widget_get_parent (button), FALSE);
      g_object_bind_property (button, "visible", gtk_widget_get_parent (button), "visible", G_BINDING_SYNC_CREATE);
    }
  else
    gtk_box_append (GTK_BOX (box), button);

  return button;
}

static GtkWidget *
make_row (GtkWidget *box)
{
  GtkWidget *row = g_object_new (GTK_TYPE_FLOW_BOX, "selection-mode", GTK_SELECTION_NONE, "max-children-per-line", 3, "column-spacing", 6,
                                 "row-spacing", 6, "homogeneous", FALSE, NULL);

  gtk_box_append (GTK_BOX (box), row);

  return row;
}

static EfField *
make_field (GtkWidget *box,
            const char *label,
            const char *placeholder)
{
  GtkWidget *field = ef_field_new (label);

  g_object_set (field, "placeholder", placeholder, NULL);
  gtk_box_append (GTK_BOX (box), field);

  return EF_FIELD (field);
}

static void
hide_text (EfField *field)
{
  GtkWidget *entry = ef_field_entry (field);

  if (GTK_IS_ENTRY (entry))
    {
      gtk_entry_set_visibility (GTK_ENTRY (entry), FALSE);
      gtk_entry_set_input_purpose (GTK_ENTRY (entry), GTK_INPUT_PURPOSE_PASSWORD);
    }
}

static GtkWidget *
make_label (const char *text,
            const char *css_class)
{
  GtkWidget *label = g_object_new (GTK_TYPE_LABEL, "label", text, "xalign", 0.0f, "wrap", TRUE, "wrap-mode", PANGO_WRAP_WORD_CHAR, "selectable", FALSE, NULL);

  if (css_class != NULL)
    gtk_widget_add_css_class (label, css_class);

  return label;
}

static void
make_state (EfSealPanel *self)
{
  GtkWidget *card = g_object_new (GTK_TYPE_BOX, "spacing", 12, NULL);
  GtkWidget *texts = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 6, "hexpand", TRUE, NULL);

  gtk_widget_add_css_class (card, "card");
  self->icon = g_object_new (GTK_TYPE_IMAGE, "pixel-size", 32, "valign", GTK_ALIGN_START, "margin-start", 12, "margin-top", 12, NULL);
  g_object_set (texts, "margin-top", 12, "margin-bottom", 12, "margin-end", 12, NULL);
  self->title = make_label ("", "heading");
  self->words = make_label ("", NULL);
  self->digest = make_label ("", "monospace");
  gtk_label_set_selectable (GTK_LABEL (self->digest), TRUE);
  gtk_box_append (GTK_BOX (texts), self->title);
  gtk_box_append (GTK_BOX (texts), self->words);
  gtk_box_append (GTK_BOX (texts), self->digest);
  gtk_box_append (GTK_BOX (card), self->icon);
  gtk_box_append (GTK_BOX (card), texts);
  gtk_box_append (GTK_BOX (self), card);
}

static void
make_open (EfSealPanel *self)
{
  GtkWidget *row;

  self->open_box = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, NULL);
  gtk_box_append (GTK_BOX (self), self->open_box);
  self->note = make_field (self->open_box, _ ("Note"), _ ("what was agreed, and with whom"));
  self->passphrase = make_field (self->open_box, _ ("Passphrase of the sealing key"), NULL);
  self->again = make_field (self->open_box, _ ("Passphrase again"), NULL);
  hide_text (self->passphrase);
  hide_text (self->again);
  self->key_note = make_label (_ ("This is the store's first seal: a key is made for it. Whoever has the passphrase can seal; nobody can tell it to you again."), "dim-label");
  gtk_box_append (GTK_BOX (self->open_box), self->key_note);
  row = make_row (self->open_box);
  self->seal = make_button (self, row, _ ("Sign and Seal"), "suggested-action", G_CALLBACK (seal_cb));
  self->sign = make_button (self, row, _ ("Sign Off Only"), NULL, G_CALLBACK (sign_cb));
  self->unsign = make_button (self, row, _ ("Take the Sign-off Back"), NULL, G_CALLBACK (unsign_cb));
  self->spinner = gtk_spinner_new ();
  gtk_box_append (GTK_BOX (self->open_box), self->spinner);
  g_signal_connect_swapped (self->passphrase, "committed", G_CALLBACK (seal_cb), self);
  g_signal_connect_swapped (self->again, "committed", G_CALLBACK (seal_cb), self);
}

static void
make_reason (EfSealPanel *self)
{
  GtkWidget *row;

  self->reason_box = g_object_new (GTK_TYPE_BOX, "orientation", GTK_ORIENTATION_VERTICAL, "spacing", 12, NULL);
  gtk_box_append (GTK_BOX (self), self->reason_box);
  gtk_box_append (GTK_BOX (self->reason_box), gtk_separator_new (GTK_ORIENTATION_HORIZONTAL));
  self->reason = make_field (self->reason_box, _ ("Reason for a revision or for withdrawing"), _ ("bore measured again; entered twice"));
  row = make_row (self->reason_box);
  self->revise = make_button (self, row, _ ("Open Revision"), NULL, G_CALLBACK (revise_cb));
  self->withdraw = make_button (self, row, _ ("Withdraw Job"), NULL, G_CALLBACK (withdraw_cb));
  self->reinstate = make_button (self, row, _ ("Reinstate Job"), NULL, G_CALLBACK (reinstate_cb));
  self->verify = make_button (self, row, _ ("Verify…"), NULL, G_CALLBACK (verify_cb));
  make_button (self, row, _ ("Sealing Key…"), NULL, G_CALLBACK (key_cb));
}

static void
ef_seal_panel_dispose (GObject *object)
{
  EfSealPanel *self = EF_SEAL_PANEL (object);

  if (self->session != NULL)
    g_clear_signal_handler (&self->assessed, self->session);
  g_clear_object (&self->session);
  g_clear_pointer (&self->role, g_free);
  g_clear_pointer (&self->permit, ef_permit_free);
  G_OBJECT_CLASS (ef_seal_panel_parent_class)->dispose (object);
}

static void
ef_seal_panel_class_init (EfSealPanelClass *klass)
{
  G_OBJECT_CLASS (klass)->dispose = ef_seal_panel_dispose;
}

static void
ef_seal_panel_init (EfSealPanel *self)
{
  gtk_orientable_set_orientation (GTK_ORIENTABLE (self), GTK_ORIENTATION_VERTICAL);
  gtk_box_set_spacing (GTK_BOX (self), 12);
  make_state (self);
  self->who = EF_WHO_FIELDS (ef_who_fields_new ());
  gtk_box_append (GTK_BOX (self), GTK_WIDGET (self->who));
  make_open (self);
  make_reason (self);
}

static void
reread_roles (EfSealPanel *self)
{
  ef_who_fields_set_store (self->who, ef_session_store (self->session));
}

GtkWidget *
ef_seal_panel_new (EfSession *session)
{
  EfSealPanel *self = g_object_new (EF_TYPE_SEAL_PANEL, NULL);

  self->session = g_object_ref (session);
  reread_roles (self);
  /* The list of roles may have been changed since it was last looked at. */
  g_signal_connect (self, "map", G_CALLBACK (reread_roles), NULL);
  g_signal_connect_object (session, "changed", G_CALLBACK (refresh), self, G_CONNECT_SWAPPED);
  refresh (self);

  return GTK_WIDGET (self);
}

gboolean
ef_seal_panel_busy (EfSealPanel *self)
{
  return self->busy;
}
