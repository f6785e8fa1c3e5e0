"""Addresses of the sign-in pages."""

from django.urls import path

from portal.accounts import views

urlpatterns = [
    path("sign-in/", views.SignInView.as_view(), name="sign-in"),
    path("sign-out/", views.SignOutView.as_view(), name="sign-out"),
    path("password/", views.OwnPasswordView.as_view(), name="password-change"),
]
