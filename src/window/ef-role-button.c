/* A menu button with one entry for each role.
 * Copyright (C) 2026 The Endfloat developers
 * SPDX-License-Identifier: GPL-3.0-or-later
 */
#include "config.h"

#include "ef-role-button.h"
#include "ef-settings.h"
#include "ef-window.h"

#include "../record/ef-store-roles.h"

#include <glib/gi18n.h>

struct _EfRoleButton
{
  AdwBin parent_instance;

  GtkWidget *button, *label, *list, *popover;
  gulong follows;
  gboolean compact;
};

enum { COMPACT = 1 };

G_DEFINE_FINAL_TYPE (EfRoleButton, ef_role_button, ADW_TYPE_BIN)

static void
toggled_cb (GtkCheckButton *check,
            EfRoleButton *self)
{
  if (!gtk_check_button_get_active (check))
    return;
  g_settings_set_string (ef_settings_get (), "role", g_object_get_data (G_OBJECT (check), "ef-role"));
  gtk_popover_popdown (GTK_POPOVER (self->popover));
}

static gboolean
has_role (EfRoleButton *self,
          const char *name)
{
  GtkWidget *check;

  for (check = gtk_widget_get_first_child (self->list); check != NULL; check = gtk_widget_get_next_sibling (check))
    if (g_strcmp0 (g_object_get_data (G_OBJECT (check), "ef-role"), name) == 0)
      return TRUE;
  return FALSE;
}

static void
show_at_work (EfRoleButton *self)
{
  g_autofree char *role = ef_settings_role ();
  gboolean known = has_role (self, role);
  g_autofree char *tip = g_strdup_printf (_ ("At work: %s"), known ? role : _ ("nobody chosen"));

  gtk_label_set_label (GTK_LABEL (self->label), known ? role : _ ("Who is at work?"));
  gtk_widget_set_tooltip_text (self->button, tip);
  gtk_accessible_update_property (GTK_ACCESSIBLE (self->button), GTK_ACCESSIBLE_PROPERTY_LABEL, tip, -1);
}

void
ef_role_button_refresh (EfRoleButton *self)
{
  EfWindow *window = ef_window_of (GTK_WIDGET (self));
  EfStore *store = window != NULL ? ef_window_store (window) : NULL;
  g_autoptr (GPtrArray) roles = store != NULL ? ef_store_roles (store, FALSE, NULL) : NULL;
  g_autofree char *at_work = ef_settings_role ();
  GtkWidget *child, *first = NULL;
  guint i;

  while ((child = gtk_widget_get_first_child (self->list)) != NULL)
    gtk_box_remove (GTK_BOX (self->list), child);
  gtk_widget_set_visible (GTK_WIDGET (self), roles != NULL && roles->len > 0);
  for (i = 0; roles != NULL && i < roles->len; i++)
    {
      const EfRole *role = roles->pdata[i];
      GtkWidget *check = gtk_check_button_new_with_label (role->name);

      gtk_widget_add_css_class (check, "ef-touch");
      gtk_check_button_set_group (GTK_CHECK_BUTTON (check), first != NULL ? GTK_CHECK_BUTTON (first) : NULL);
      first = first != NULL ? first : check;
      gtk_check_button_set_active (GTK_CHECK_BUTTON (check), g_str_equal (role->name, at_work));
      g_object_set_data_full (G_OBJECT (check), "ef-role", g_strdup (role->name), g_free);
      g_signal_connect_object (check, "toggled", G_CALLBACK (toggled_cb), self, 0);
      gtk_box_append (GTK_BOX (self->list), check);
    }
  show_at_work (self);
}

static void
ef_role_button_root (GtkWidget *widget)
{
  EfRoleButton *self = EF_ROLE_BUTTON (widget);
  EfWindow *window;

  GTK_WIDGET_CLASS (ef_role_button_parent_class)->root (widget);
  window = ef_window_of (widget);
  if (window != NULL)
    self->follows = g_signal_connect_swapped (window, "roles-changed", G_CALLBACK (ef_role_button_refresh), self);
  ef_role_button_refresh (self);
}

static void
ef_role_button_unroot (GtkWidget *widget)
{
  EfRoleButton *self = EF_ROLE_BUTTON (widget);
  EfWindow *window = ef_window_of (widget);

  if (window != NULL)
    g_clear_signal_handler (&self->follows, window);
  GTK_WIDGET_CLASS (ef_role_button_parent_class)->unroot (widget);
}

static void
ef_role_button_set_property (GObject *object,
                             guint id,
                             const GValue *value,
                             GParamSpec *spec)
{
  EfRoleButton *self = EF_ROLE_BUTTON (object);

  if (id != COMPACT)
    {
      G_OBJECT_WARN_INVALID_PROPERTY_ID (object, id, spec);
      return;
    }
  self->compact = g_value_get_boolean (value);
  gtk_widget_set_visible (self->label, !self->compact);
}

static void
ef_role_button_class_init (EfRoleButtonClass *klass)
{
  G_OBJECT_CLASS (klass)->set_property = ef_role_button_set_property;
  GTK_WIDGET_CLASS (klass)->root = ef_role_button_root;
  GTK_WIDGET_CLASS (klass)->unroot = ef_role_button_unroot;
  g_object_class_install_property (G_OBJECT_CLASS (klass), COMPACT, g_param_spec_boolean ("compact", NULL, NULL, FALSE, G_PARAM_WRITABLE | G_PARAM_STATIC_STRINGS));
}

/* The list as it is when it opens. */
static void
open_cb (GtkMenuButton *button,
         gpointer user_data)
{
  ef_role_button_refresh (user_data);
}

static void
ef_role_button_init (EfRoleButton *self)
{
  GtkWidget *face = gtk_box_new (GTK_ORIENTATION_HORIZONTAL, 6);
  GtkWidget *content = gtk_box_new (GTK_ORIENTATION_VERTICAL, 6);
  GtkWidget *heading = g_object_new (GTK_TYPE_LABEL, "label", _ ("Who is at work?"), "xalign", 0.0f, NULL);
  GtkWidget *manage = gtk_button_new_with_label (_ ("People and Roles…"));

  self->label = g_object_new (GTK_TYPE_LABEL, "ellipsize", PANGO_ELLIPSIZE_END, "max-width-chars", 14, NULL);
  gtk_box_append (GTK_BOX (face), gtk_image_new_from_icon_name ("avatar-default-symbolic"));
  gtk_box_append (GTK_BOX (face), self->label);
  self->list = gtk_box_new (GTK_ORIENTATION_VERTICAL, 0);
  gtk_widget_add_css_class (heading, "heading");
  gtk_widget_add_css_class (manage, "ef-touch");
  gtk_actionable_set_action_name (GTK_ACTIONABLE (manage), "win.roles");
  gtk_box_append (GTK_BOX (content), heading);
  gtk_box_append (GTK_BOX (content), self->list);
  gtk_box_append (GTK_BOX (content), manage);
  g_object_set (content, "margin-start", 6, "margin-end", 6, "margin-top", 6, "margin-bottom", 6, NULL);
  self->popover = gtk_popover_new ();
  gtk_popover_set_child (GTK_POPOVER (self->popover), content);
  self->button = gtk_menu_button_new ();
  gtk_menu_button_set_child (GTK_MENU_BUTTON (self->button), face);
  gtk_menu_button_set_popover (GTK_MENU_BUTTON (self->button), self->popover);
  gtk_menu_button_set_create_popup_func (GTK_MENU_BUTTON (self->button), open_cb, self, NULL);
  gtk_widget_add_css_class (self->button, "ef-touch");
  gtk_widget_add_css_class (self->button, "flat");
  adw_bin_set_child (ADW_BIN (self), self->button);
  gtk_widget_set_visible (GTK_WIDGET (self), FALSE);
  g_signal_connect_object (ef_settings_get (), "changed::role", G_CALLBACK (show_at_work), self, G_CONNECT_SWAPPED);
}
