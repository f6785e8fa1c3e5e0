"""Users in Django's administration, for superusers: sign-in, roles, and closing an account."""

from django.contrib import admin
from django.contrib.auth.admin import UserAdmin
from django.contrib.auth.forms import AdminUserCreationForm

from portal.accounts.models import User


class NewUserForm(AdminUserCreationForm):
    class Meta:
        model = User
        fields = ("email", "full_name")


@admin.register(User)
class PortalUserAdmin(UserAdmin):
    add_form = NewUserForm
    ordering = ("full_name",)
    list_display = ("full_name", "email", "is_active", "is_staff", "last_login")
    list_filter = ("groups", "is_active", "is_staff")
    search_fields = ("full_name", "email")
    readonly_fields = ("last_login", "date_joined")
    filter_horizontal = ("groups",)
    fieldsets = (
        (None, {"fields": ("email", "full_name", "password", "has_one_time_password")}),
        ("Roles", {"fields": ("groups", "is_active", "is_staff", "is_superuser")}),
        ("Dates", {"fields": ("last_login", "date_joined")}),
    )
    add_fieldsets = ((None, {"fields": ("email", "full_name", "usable_password", "password1", "password2")}),)
